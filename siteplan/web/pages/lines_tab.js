// The tab of the lines to lay: what is written in site.toml.

export function beginLinesTab() {}
