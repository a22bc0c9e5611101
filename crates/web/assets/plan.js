// What moves on the pages of plans. Every page works without it; it reads nothing but the attributes named here:
//
//   img[data-inline]         a picture drawn into the page, so that it follows the page's colours and tells what is pointed at
//   details[data-later]      a part that is fetched when it is opened
//   [data-print]             prints the page
//   #set-up[data-try]        tiles that are taken by pointer or keys and put elsewhere; what it costs is told (see below)
//   .play[data-play]         a program played (play.js)
//
// A place that something can be put on has data-place and data-number as the form has them, and data-words for whoever listens. A tab
// of another station has data-station.

import { element } from "./pieces.js";
import { playProgram } from "./play.js";

// ---- pictures and parts that come later ----

async function inline(image) {
    const answer = await fetch(image.src);
    if (!answer.ok) return;
    const svg = new DOMParser().parseFromString(await answer.text(), "image/svg+xml").documentElement;
    if (svg.localName !== "svg") return;
    svg.classList.add("picture");
    svg.setAttribute("aria-label", image.alt);
    image.replaceWith(document.importNode(svg, true));
}

function comeLater(details) {
    details.addEventListener("toggle", async function once() {
        if (!details.open) return;
        details.removeEventListener("toggle", once);
        const place = details.querySelector("p");
        const link = place.querySelector("a");
        place.replaceChildren("Working it out …");
        try {
            const answer = await fetch(details.dataset.later);
            const text = new DOMParser().parseFromString(await answer.text(), "text/html");
            if (!answer.ok || answer.redirected) throw new Error(text.querySelector(".outcome")?.textContent ?? "");
            place.replaceWith(...document.importNode(text.body, true).childNodes);
        } catch (why) {
            place.replaceChildren(`It did not come. ${why.message} `, link);
        }
    });
}

// ---- taking a feeder and putting it elsewhere ----

/** A pointer that moves less than this has clicked [px]. */
const CLICK = 6;

const exact = (us) => `${(us / 1e6).toFixed(3)} s`;
const changed = (us) => (us === 0 ? "as before" : `${us < 0 ? "−" : "+"}${exact(Math.abs(us))}`);

function moveByHand(setup) {
    const says = setup.querySelector("[data-say]");
    const price = document.getElementById("price");
    const form = document.querySelector("#move form");
    const say = (words) => (says.textContent = words);
    const placeUnder = (x, y) => {
        const under = document.elementFromPoint(x, y);
        return under?.closest("#set-up [data-place]") ?? under?.closest(`nav.tabs a[data-station]:not([data-station="${setup.dataset.station}"])`) ?? null;
    };
    const wordsOf = (place) => place.dataset.words ?? `station ${place.textContent.trim()}, the best free place`;

    let asked = 0;
    async function ask(tile, place) {
        const own = tile.closest("[data-place]");
        if (!place || place === own) return;
        const wish = {
            base: setup.dataset.base,
            station: setup.dataset.station,
            supply: tile.dataset.supply,
            to: place.dataset.place ?? place.dataset.station,
            number: place.dataset.number ?? "",
        };
        const turn = ++asked;
        price.replaceChildren(element("p", { class: "told" }, `${tile.dataset.part} to ${wordsOf(place)}: working out what it costs …`));
        price.scrollIntoView({ block: "nearest" });
        let shown;
        try {
            const answer = await fetch(setup.dataset.try, { method: "POST", headers: { accept: "application/json" }, body: new URLSearchParams(wish) });
            const told = await answer.json();
            shown = answer.ok ? priced(told) : refused(tile, place, told);
        } catch {
            shown = [element("p", { class: "refused" }, "The room did not answer. Nothing was changed; try again.")];
        }
        // A later question has its own answer.
        if (turn !== asked) return;
        price.replaceChildren(...shown);
        price.scrollIntoView({ block: "nearest" });
        price.querySelector("button")?.focus({ preventScroll: true });
    }

    function refused(tile, place, problem) {
        const findings = (problem.findings ?? []).map((f) =>
            element(
                "li",
                { class: "error" },
                element("span", { class: "mark" }, "error"),
                element("span", {}, f.message, ...(f.value && !f.message.includes(f.value) ? [" ", element("q", {}, f.value)] : [])),
                element("span", { class: "hint" }, f.hint ?? ""),
                element("span", { class: "place" }, element("code", {}, f.code)),
            ),
        );
        const why = findings.length ? "cannot be done" : problem.title;
        return [element("p", { class: "refused" }, `${tile.dataset.part} to ${wordsOf(place)}: ${why}.`.replace("..", ".")), element("ul", { class: "findings" }, ...findings)];
    }

    function priced(told) {
        const figure = (name, value, warn) => element("div", { class: warn ? "warn" : false }, element("dt", {}, name), element("dd", {}, value));
        const d = told.takt_after_us - told.takt_before_us;
        const row = (s) =>
            element(
                "tr",
                {},
                element("td", {}, s.name),
                ...[exact(s.before_us), exact(s.after_us), changed(s.after_us - s.before_us)].map((t) => element("td", { class: "right" }, t)),
            );
        const head = ["Station", "Now", "Then", "Change"].map((t, i) => element("th", { class: i > 0 ? "right" : false }, t));
        const hidden = Object.entries(told.wish).map(([name, value]) => element("input", { type: "hidden", name, value: String(value) }));
        return [
            element("h3", {}, `Moving ${told.words}`),
            element(
                "dl",
                { class: "figures" },
                figure("takt now", exact(told.takt_before_us)),
                figure("takt then", exact(told.takt_after_us), d > 0),
                figure("change", changed(d)),
                figure("bound with it", exact(told.bound_us)),
            ),
            element("ul", {}, ...told.told.map((t) => element("li", {}, t))),
            element("div", { class: "wide" }, element("table", {}, element("thead", {}, element("tr", {}, ...head)), element("tbody", {}, ...told.stations.map(row)))),
            element(
                "form",
                { class: "row", method: "post", action: setup.dataset.try.replace(/try$/, "keep") },
                ...hidden,
                element("button", { name: "then", value: "look" }, "Keep it as a new version"),
                element("button", { class: "plain", name: "then", value: "plan" }, "Keep it and plan on"),
                element("button", { class: "plain", type: "button", click: () => price.replaceChildren() }, "Leave it"),
            ),
        ];
    }

    for (const tile of setup.querySelectorAll("a.tile")) {
        dragTile(tile, placeUnder, ask, say);
        keyTile(tile, setup, wordsOf, ask, say);
        tile.addEventListener("click", (event) => {
            if (!form || event.defaultPrevented || event.ctrlKey || event.metaKey || event.shiftKey) return;
            event.preventDefault();
            form.elements.supply.value = tile.dataset.supply;
            form.scrollIntoView({ block: "center" });
            form.elements.to.focus({ preventScroll: true });
        });
    }
}

function dragTile(tile, placeUnder, ask, say) {
    let start = null;
    let ghost = null;
    let over = null;
    function mark(place) {
        over?.classList.remove("over");
        over = place;
        over?.classList.add("over");
    }
    function end() {
        ghost?.remove();
        tile.classList.remove("taken");
        mark(null);
        start = ghost = null;
    }
    tile.addEventListener("pointerdown", (event) => {
        if (event.button !== 0 || !event.isPrimary) return;
        start = { x: event.clientX, y: event.clientY };
    });
    tile.addEventListener("pointermove", (event) => {
        if (!start) return;
        if (!ghost) {
            if (Math.hypot(event.clientX - start.x, event.clientY - start.y) < CLICK) return;
            const box = tile.getBoundingClientRect();
            start.dx = start.x - box.left;
            start.dy = start.y - box.top;
            ghost = tile.cloneNode(true);
            ghost.classList.add("ghost");
            ghost.removeAttribute("href");
            ghost.style.width = `${box.width}px`;
            ghost.style.height = `${box.height}px`;
            document.body.append(ghost);
            tile.classList.add("taken");
            tile.setPointerCapture(event.pointerId);
        }
        ghost.style.left = `${event.clientX - start.dx}px`;
        ghost.style.top = `${event.clientY - start.dy}px`;
        const place = placeUnder(event.clientX, event.clientY);
        mark(place && !place.contains(tile) ? place : null);
    });
    tile.addEventListener("pointerup", () => {
        if (!ghost) {
            start = null;
            return;
        }
        const place = over;
        // The click that follows the end of a drag is none.
        const swallow = (event) => event.preventDefault();
        tile.addEventListener("click", swallow, { once: true, capture: true });
        window.setTimeout(() => tile.removeEventListener("click", swallow, { capture: true }), 0);
        end();
        if (place) ask(tile, place);
        else say("Nothing can be put there.");
    });
    tile.addEventListener("pointercancel", end);
    tile.addEventListener("dragstart", (event) => event.preventDefault());
}

function keyTile(tile, setup, wordsOf, ask, say) {
    let at = null;
    function aim(place) {
        at?.classList.remove("over");
        at = place;
        if (!at) return;
        at.classList.add("over");
        at.scrollIntoView({ block: "nearest", inline: "nearest" });
        say(wordsOf(at));
    }
    function letGo(words) {
        if (!at) return;
        aim(null);
        tile.classList.remove("taken");
        say(words);
    }
    /** The place beside, or on the bank or tray place before or after, as near as there is one. */
    function beside(key) {
        const list = at.parentElement;
        const places = [...list.querySelectorAll("[data-place]")];
        const step = { ArrowLeft: -1, ArrowRight: 1 }[key];
        if (step) return places[places.indexOf(at) + step] ?? at;
        const lists = [...setup.querySelectorAll("ol.slots, ol.levels")].filter((l) => l.querySelector("[data-place]"));
        const next = lists[lists.indexOf(list) + (key === "ArrowUp" ? -1 : 1)];
        if (!next) return at;
        const far = (place) => Math.abs(Number(place.dataset.number) - Number(at.dataset.number));
        return [...next.querySelectorAll("[data-place]")].reduce((best, place) => (far(place) < far(best) ? place : best));
    }
    tile.addEventListener("keydown", (event) => {
        if (event.ctrlKey || event.altKey || event.metaKey) return;
        const { key } = event;
        if (!at) {
            if (key !== "Enter" && key !== " ") return;
            event.preventDefault();
            tile.classList.add("taken");
            aim(tile.closest("[data-place]"));
            say(`${tile.dataset.part} is taken. Arrow keys choose a place, Enter puts it there, Escape lets go.`);
        } else if (key.startsWith("Arrow")) {
            event.preventDefault();
            aim(beside(key));
        } else if (key === "Enter" || key === " ") {
            event.preventDefault();
            const place = at;
            letGo("");
            ask(tile, place);
        } else if (key === "Escape") {
            event.preventDefault();
            letGo("Let go; nothing is moved.");
        }
    });
    tile.addEventListener("blur", () => letGo(""));
}

// ---- begin ----

document.querySelectorAll("img[data-inline]").forEach((image) => inline(image).catch(() => {}));
document.querySelectorAll("details[data-later]").forEach(comeLater);
document.querySelectorAll("[data-print]").forEach((button) => button.addEventListener("click", () => window.print()));
document.querySelectorAll("#set-up[data-try]").forEach(moveByHand);
document.querySelectorAll(".play[data-play]").forEach(playProgram);
