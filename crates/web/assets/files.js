// form.drop: files by dragging, and sending with a bar. Without script the plain form does the same.

import { element } from "./pieces.js";

function size(bytes) {
    if (bytes < 1000) return `${bytes} B`;
    return bytes < 1e6 ? `${(bytes / 1e3).toFixed(1)} kB` : `${(bytes / 1e6).toFixed(1)} MB`;
}

/** All files below a dropped entry. A folder tells its entries in portions until one is empty. */
async function filesOf(entry) {
    if (entry.isFile) return [await new Promise((done, failed) => entry.file(done, failed))];
    const reader = entry.createReader();
    const found = [];
    for (;;) {
        const some = await new Promise((done, failed) => reader.readEntries(done, failed));
        if (some.length === 0) return found;
        for (const inner of some) found.push(...(await filesOf(inner)));
    }
}

/**
 * Files and folders can be dragged onto a form, and it says how far it is while they are sent. `again` begins what the page asks
 * for when it comes back with something wrong.
 */
export function dropForm(form, again) {
    const input = form.querySelector('input[type="file"]');
    if (!input) return;
    const list = element("ul", { class: "chosen", "aria-label": "Files to be sent" });
    const total = element("p", { class: "quiet", role: "status" }, input.multiple ? "Files or a whole folder can also be dragged onto this field." : "A file can also be dragged onto this field.");
    input.closest("label, div, form").after(total, list);
    if (input.closest("label, div, form") === form) form.append(total, list);
    function show() {
        const files = [...input.files];
        list.replaceChildren(...files.map((f) => element("li", {}, f.name, element("span", {}, size(f.size)))));
        const sum = files.reduce((n, f) => n + f.size, 0);
        total.textContent = files.length === 0 ? "No file is chosen." : `${files.length} ${files.length === 1 ? "file" : "files"}, ${size(sum)}.`;
    }
    input.addEventListener("change", show);
    if (input.files.length) show();
    let depth = 0;
    const over = (by) => {
        depth = Math.max(0, by === 0 ? 0 : depth + by);
        form.classList.toggle("over", depth > 0);
    };
    const holdsFiles = (event) => [...(event.dataTransfer?.types ?? [])].includes("Files");
    form.addEventListener("dragenter", (event) => holdsFiles(event) && over(1));
    form.addEventListener("dragleave", (event) => holdsFiles(event) && over(-1));
    form.addEventListener("dragover", (event) => holdsFiles(event) && event.preventDefault());
    form.addEventListener("drop", async (event) => {
        if (!holdsFiles(event)) return;
        event.preventDefault();
        over(0);
        // Entries are gone after the first wait, so all are taken before it.
        const items = [...event.dataTransfer.items].map((i) => i.webkitGetAsEntry?.()).filter(Boolean);
        const plain = [...event.dataTransfer.files];
        try {
            const found = items.length ? (await Promise.all(items.map(filesOf))).flat() : plain;
            const hold = new DataTransfer();
            for (const file of input.multiple ? [...input.files, ...found] : found.slice(0, 1)) hold.items.add(file);
            input.files = hold.files;
            input.dispatchEvent(new Event("change", { bubbles: true }));
        } catch (error) {
            total.textContent = `What was dropped could not be read: ${error.message}`;
        }
    });
    form.addEventListener("submit", (event) => {
        if (event.defaultPrevented) return;
        event.preventDefault();
        send(form, event.submitter, again);
    });
}

/** Sends a form, shows how far it is, and goes where the answer leads. */
function send(form, submitter, again) {
    const request = new XMLHttpRequest();
    const target = submitter?.hasAttribute("formaction") ? submitter.formAction : form.action;
    const bar = element("progress", { max: "1", value: "0", "aria-label": "Sent so far" });
    const said = element("span", { role: "status" }, "Sending …");
    const stop = element("button", { type: "button", class: "plain", click: () => request.abort() }, "Stop sending");
    const sending = element("div", { class: "sending" }, bar, said, stop);
    // Taken before anything is switched off: what is off is not sent.
    const data = new FormData(form, submitter);
    form.querySelector(".sending")?.remove();
    form.append(sending);
    const buttons = [...form.querySelectorAll("button")].filter((b) => b !== stop);
    for (const button of buttons) button.disabled = true;
    const end = (text) => {
        for (const button of buttons) button.disabled = false;
        sending.className = "sending refused";
        sending.replaceChildren(element("span", { role: "alert" }, text));
    };
    request.upload.addEventListener("progress", (event) => {
        if (!event.lengthComputable) return;
        bar.value = event.loaded / event.total;
        said.textContent = event.loaded < event.total ? `${size(event.loaded)} of ${size(event.total)} sent` : "Sent. The room reads the files …";
    });
    request.addEventListener("abort", () => end("Stopped. Nothing was sent to the end, nothing was kept."));
    request.addEventListener("error", () => end("The connection broke off. Nothing was kept; try again."));
    request.addEventListener("load", () => {
        if (request.status < 400 && request.responseURL && request.responseURL !== target) {
            form.dispatchEvent(new Event("room:sent"));
            window.location.assign(request.responseURL);
            return;
        }
        // The same form again, with what is wrong: it takes the place of this one.
        const page = new DOMParser().parseFromString(request.responseText, "text/html");
        const main = page.querySelector("main");
        if (!main) {
            end(`The room answered with status ${request.status}.`);
            return;
        }
        document.title = page.title;
        const here = document.importNode(main, true);
        document.querySelector("main").replaceWith(here);
        again(here);
        // The server cannot put files back into a form; they are still here.
        for (const old of form.querySelectorAll('input[type="file"]')) {
            const now = here.querySelector(`form.drop input[type="file"][name="${CSS.escape(old.name)}"]`);
            if (!now || old.files.length === 0) continue;
            now.files = old.files;
            now.dispatchEvent(new Event("change", { bubbles: true }));
        }
        here.tabIndex = -1;
        here.focus();
        window.scrollTo(0, 0);
    });
    request.open(form.method.toUpperCase(), target);
    request.send(data);
}
