// What moves on the pages of the planning room. Every page also works without it; it reads nothing but the attributes named here:
//
//   .job[data-live]            figures and curve of a job, as they change (live.js)
//   form.drop                  files and folders dragged onto a form, sent with a bar that shows how far they are (files.js)
//   table[data-sort]           rows sorted by a click on a head; td[data-value] sorts by that number instead of the text
//   input[data-filter="#id"]   rows of a table that hold all the words typed
//   form[data-confirm]         asks the sentence before sending
//   form[data-guard]           warns before typed text is left; ="unsaved" where the form came back with text that is not saved yet
//   textarea.sheet             line numbers; data-lines="3,17" are marked
//
// Order of the file: one part for each of these, keys, and at the end the one call that begins all of it.

import { dropForm } from "./files.js";
import { watchJob } from "./live.js";
import { ask, element } from "./pieces.js";

// ---- tables ----

const NUMBER = /^([-−+]?)\s*(\d[\d\s,]*(?:\.\d+)?)\s*([^\d\s]{0,6})$/u;
const SCALE = { "µs": 1e-6, "ms": 1e-3, "min": 60, "h": 3600, "kB": 1e3, "MB": 1e6 };

function valueOf(cell) {
    if (cell.dataset.value !== undefined) return Number(cell.dataset.value);
    const found = NUMBER.exec(cell.textContent.trim());
    if (!found) return null;
    const number = Number(found[2].replace(/[^\d.]/g, "")) * (SCALE[found[3]] ?? 1);
    return found[1] === "-" || found[1] === "−" ? -number : number;
}

const EMPTY = /^[–—-]?$/;

function sortTable(table) {
    const heads = [...(table.tHead?.rows[0]?.cells ?? [])];
    const body = table.tBodies[0];
    if (!body) return;
    const compare = new Intl.Collator("en", { numeric: true, sensitivity: "base" }).compare;
    heads.forEach((head, column) => {
        if (head.textContent.trim() === "" || head.colSpan > 1 || head.querySelector(".unseen")) return;
        head.setAttribute("aria-sort", "none");
        const button = element("button", { type: "button" }, ...head.childNodes);
        head.replaceChildren(button);
        button.addEventListener("click", () => {
            const down = head.getAttribute("aria-sort") === "ascending";
            for (const other of heads) if (other.hasAttribute("aria-sort")) other.setAttribute("aria-sort", "none");
            head.setAttribute("aria-sort", down ? "descending" : "ascending");
            const rows = [...body.rows].filter((r) => !r.classList.contains("total")).map((row) => {
                const cell = row.cells[column];
                const text = cell?.textContent.trim() ?? "";
                return { row, text, empty: !cell || EMPTY.test(text), number: cell ? valueOf(cell) : null };
            });
            const numbers = rows.every((r) => r.empty || r.number !== null);
            rows.sort((a, b) => {
                // Nothing is neither large nor small: it stands at the end either way.
                if (a.empty || b.empty) return Number(a.empty) - Number(b.empty);
                const order = numbers ? a.number - b.number : compare(a.text, b.text);
                return down ? -order : order;
            });
            const totals = [...body.rows].filter((r) => r.classList.contains("total"));
            body.append(...rows.map((r) => r.row), ...totals);
        });
    });
}

function filterTable(input) {
    const body = document.querySelector(input.dataset.filter)?.tBodies[0];
    if (!body) return;
    const count = element("span", { class: "quiet", role: "status" });
    (input.closest("label") ?? input).after(count);
    function filter() {
        const words = input.value.toLowerCase().split(/\s+/).filter(Boolean);
        let shown = 0;
        for (const row of body.rows) {
            const text = row.textContent.toLowerCase();
            row.hidden = !words.every((w) => text.includes(w));
            shown += Number(!row.hidden);
        }
        count.textContent = words.length ? `${shown} of ${body.rows.length} shown` : "";
    }
    input.addEventListener("input", filter);
    // The value a browser brings back with the page counts as typed.
    if (input.value) filter();
}

/** What scrolls inside its frame can be scrolled by keys. */
function scrollByKeys(frame) {
    const seen = new ResizeObserver(() => {
        const scrolls = frame.scrollWidth > frame.clientWidth + 1 || frame.scrollHeight > frame.clientHeight + 1;
        if (!scrolls) {
            for (const name of ["tabindex", "role", "aria-label"]) frame.removeAttribute(name);
            return;
        }
        const title = frame.closest("section")?.querySelector("h2, h3") ?? document.querySelector("h1");
        frame.tabIndex = 0;
        // A figure is a group of its own kind.
        if (frame.localName !== "figure") frame.setAttribute("role", "group");
        frame.setAttribute("aria-label", `${title?.textContent ?? "Table"}, scrolls`);
    });
    // The frame may stay as large as it is while what is in it grows.
    for (const box of [frame, frame.firstElementChild].filter(Boolean)) seen.observe(box);
}

// ---- forms that ask and forms that guard ----

function confirmForm(form) {
    let sure = false;
    form.addEventListener("submit", async (event) => {
        if (sure) return;
        event.preventDefault();
        event.stopImmediatePropagation();
        const button = event.submitter;
        const answer = await ask(element(
            "dialog",
            { "aria-labelledby": "confirm-what" },
            element("h2", { id: "confirm-what" }, form.dataset.confirm),
            element("form", { method: "dialog", class: "row" },
                element("button", { value: "no", class: "plain", autofocus: true }, "Leave it"),
                element("button", { value: "yes", class: button?.classList.contains("danger") ? "danger" : "" }, button?.textContent.trim() || "Go on")),
        ));
        if (answer !== "yes") {
            button?.focus();
            return;
        }
        sure = true;
        form.requestSubmit(button);
        sure = false;
    });
}

/** The options of lists as the page came: a list that marks none as chosen shows the first. */
const chosen = (form) => [...form.querySelectorAll("select")].map((s) => [...s.selectedOptions].map((o) => o.value).join("\n")).join("\n\n");

function changed(form) {
    return [...form.elements].some((e) => {
        if (e.type === "checkbox" || e.type === "radio") return e.checked !== e.defaultChecked;
        if (e.type === "file") return e.files.length > 0;
        // Hidden fields have no text of a person; a text area is compared with ends of lines as the browser keeps them.
        return ["INPUT", "TEXTAREA"].includes(e.tagName) && e.type !== "hidden" && e.value !== e.defaultValue.replace(/\r\n?/g, "\n");
    });
}

function guardForm(form) {
    let sent = false;
    const first = chosen(form);
    // A form that came back with what is wrong holds text that is kept nowhere else.
    const unsaved = form.dataset.guard === "unsaved" || document.querySelector('main [role="alert"]') !== null;
    form.addEventListener("submit", (event) => {
        // Another listener may have stopped it to ask first.
        sent = !event.defaultPrevented;
    });
    form.addEventListener("room:sent", () => {
        sent = true;
    });
    form.addEventListener("input", () => {
        sent = false;
    });
    window.addEventListener("beforeunload", (event) => {
        if (form.isConnected && !sent && (unsaved || changed(form) || chosen(form) !== first)) event.preventDefault();
    });
    window.addEventListener("pageshow", () => {
        sent = false;
    });
}

// ---- sheets of text ----

let sheets = 0;

function sheet(area) {
    const marked = new Set((area.dataset.lines ?? "").split(",").map(Number).filter((n) => n > 0));
    const numbers = element("div", { class: "numbers", "aria-hidden": "true" });
    const frame = element("div", { class: "sheet-frame" });
    const modes = {
        still: "Tab goes on to the next field. After Enter, Tab writes two spaces until Esc.",
        edit: "Tab writes two spaces. Esc ends that; Shift + Tab goes back.",
    };
    const mode = element("span", { id: `sheet-mode-${(sheets += 1)}`, hidden: area.readOnly }, modes.still);
    const help = element("div", { class: "sheet-help quiet" }, mode);
    // Focus must stay where it is when the text area moves into its frame.
    const held = document.activeElement === area;
    area.wrap = "off";
    area.spellcheck = false;
    area.before(frame);
    frame.append(numbers, area);
    // Not inside the label, whose text is the name of the field.
    (frame.closest("label") ?? frame).after(help);
    if (!area.readOnly) area.setAttribute("aria-describedby", [area.getAttribute("aria-describedby"), mode.id].filter(Boolean).join(" "));
    if (held) area.focus();

    function go(line) {
        const before = area.value.split("\n").slice(0, line - 1).join("\n").length;
        const at = before + (line > 1 ? 1 : 0);
        area.focus();
        area.setSelectionRange(at, at + (area.value.split("\n")[line - 1] ?? "").length);
        area.scrollTop = Math.max(0, (line - 4) * parseFloat(getComputedStyle(area).lineHeight));
    }
    if (marked.size) {
        const buttons = [...marked].map((n) => element("button", { type: "button", class: "plain", click: () => go(n) }, `line ${n}`));
        help.prepend(element("span", {}, "Findings at"), ...buttons);
    }
    let shown = 0;
    function number() {
        const count = area.value.split("\n").length;
        if (count === shown) return;
        shown = count;
        numbers.replaceChildren(...Array.from({ length: count }, (_, i) => element("span", { class: marked.has(i + 1) ? "marked" : null }, String(i + 1))));
        follow();
    }
    function follow() {
        numbers.scrollTop = area.scrollTop;
    }
    let edits = false;
    function edit(on) {
        if (edits === on) return;
        edits = on;
        mode.textContent = on ? modes.edit : modes.still;
    }
    area.addEventListener("input", number);
    area.addEventListener("scroll", follow);
    area.addEventListener("blur", () => edit(false));
    area.addEventListener("keydown", (event) => {
        if (event.key === "Enter" && !area.readOnly) edit(true);
        else if (event.key === "Escape") edit(false);
        else if (event.key === "Tab" && edits && !event.shiftKey && !event.ctrlKey && !event.altKey && !event.metaKey) {
            event.preventDefault();
            // The old way alone keeps the browser's own undo; where it is gone, the text is set and told.
            if (!document.execCommand("insertText", false, "  ")) {
                area.setRangeText("  ", area.selectionStart, area.selectionEnd, "end");
                area.dispatchEvent(new Event("input", { bubbles: true }));
            }
        }
    });
    new ResizeObserver(() => {
        numbers.style.height = `${area.offsetHeight}px`;
        follow();
    }).observe(area);
    number();
    numbers.style.height = `${area.offsetHeight}px`;
}

// ---- keys ----

const PLACES = { o: ["/", "Overview"], b: ["/boards", "Boards"], p: ["/parts", "Parts"], l: ["/lines", "Lines"], n: ["/plans", "Plans"] };
const OFF = "keys-off";

function keys() {
    let going = 0;
    const typing = (target) => target.isContentEditable || ["INPUT", "TEXTAREA", "SELECT"].includes(target.tagName);
    document.addEventListener("keydown", (event) => {
        if (event.defaultPrevented || event.ctrlKey || event.altKey || event.metaKey || typing(event.target) || document.querySelector("dialog[open]")) return;
        if (localStorage.getItem(OFF)) return;
        const went = Date.now() - going < 1500;
        going = 0;
        if (went && PLACES[event.key]) {
            const [path] = PLACES[event.key];
            if (document.querySelector(`header.bar nav a[href="${path}"]`)) window.location.assign(path);
        } else if (event.key === "g") {
            going = Date.now();
        } else if (event.key === "/") {
            const field = document.querySelector('main input[type="search"], main input[data-filter]');
            if (!field) return;
            event.preventDefault();
            field.focus();
            field.select();
        } else if (event.key === "?") {
            event.preventDefault();
            showKeys();
        }
    });
    const footer = document.querySelector("body > footer");
    footer?.append(element("button", { type: "button", class: "plain no-print", click: showKeys }, "Keys"));
}

function showKeys() {
    const row = (names, what) => [element("dt", {}, ...names.flatMap((n) => [element("kbd", {}, n), " "])), element("dd", {}, what)];
    const on = element("input", { type: "checkbox", checked: !localStorage.getItem(OFF) });
    on.addEventListener("change", () => (on.checked ? localStorage.removeItem(OFF) : localStorage.setItem(OFF, "1")));
    ask(element(
        "dialog",
        { "aria-labelledby": "keys-title" },
        element("h2", { id: "keys-title" }, "Keys"),
        element("dl", {}, ...row(["/"], "to the search field"), ...row(["?"], "this list"),
            ...Object.entries(PLACES).flatMap(([key, [, name]]) => row(["g", key], name)),
            ...[...document.querySelectorAll("[data-key-help]")].flatMap((e) => row([e.dataset.keyHelp], e.dataset.keyWhat ?? ""))),
        element("form", { method: "dialog", class: "stack" },
            element("label", {}, on, "These keys work on this computer"), element("button", { autofocus: true }, "Close")),
    ));
}

// ---- all of it ----

/** Begins what a page, or a part of it that came later, asks for. */
function begin(root) {
    const each = (what, how) => root.querySelectorAll(what).forEach(how);
    each("textarea.sheet", sheet);
    each("form[data-confirm]", confirmForm);
    each("form.drop", (form) => dropForm(form, begin));
    each("form[data-guard]", guardForm);
    each("table[data-sort]", sortTable);
    each("input[data-filter]", filterTable);
    each(".wide, figure.picture, main pre", scrollByKeys);
    each(".job[data-live]", watchJob);
}

begin(document);
keys();
