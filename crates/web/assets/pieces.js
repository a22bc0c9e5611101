// Pieces that all scripts of the room use.

/** A new element; `attributes` holds attributes, functions as listeners of their name. */
export function element(name, attributes = {}, ...inside) {
    const made = document.createElement(name);
    for (const [key, value] of Object.entries(attributes)) {
        if (typeof value === "function") made.addEventListener(key, value);
        else if (value !== false && value !== null) made.setAttribute(key, value === true ? "" : value);
    }
    made.append(...inside);
    return made;
}

/** Shows a dialog until it is closed, and gives its answer. */
export function ask(dialog) {
    document.body.append(dialog);
    dialog.showModal();
    return new Promise((done) => {
        dialog.addEventListener("close", () => {
            dialog.remove();
            done(dialog.returnValue);
        });
    });
}
