"""Rules as data: layers that stack, every number with its source, resolved against the facts of a site."""

from siteplan.rules.explain import explain, explain_all, explain_cover
from siteplan.rules.layers import LayerInfo, available_layers, check_file, layer_schema, load_stack
from siteplan.rules.pages import layer_page
from siteplan.rules.resolve import resolve
from siteplan.rules.stack import Stack

__all__ = [
    "LayerInfo",
    "Stack",
    "available_layers",
    "check_file",
    "explain",
    "explain_all",
    "explain_cover",
    "layer_page",
    "layer_schema",
    "load_stack",
    "resolve",
]
