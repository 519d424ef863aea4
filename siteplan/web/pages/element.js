// Builds elements. Words are always text, never markup.

export function element(tag, { text: words, ...properties } = {}) {
    const made = Object.assign(document.createElement(tag), properties);
    if (words !== undefined) made.textContent = words;
    return made;
}

export function wrap(tag, children, className = "") {
    const box = element(tag, { className });
    box.append(...children);
    return box;
}

export function button(words, act, className = "") {
    const made = element("button", { type: "button", text: words, className });
    made.addEventListener("click", act);
    return made;
}

let numbered = 0;

// A field under its label; the label is tied to it.
export function labelled(title, field) {
    numbered += 1;
    field.id ||= `field-${title.toLowerCase().replaceAll(/[^a-z0-9]+/g, "-")}-${numbered}`;
    return wrap("div", [element("label", { htmlFor: field.id, text: title }), field]);
}
