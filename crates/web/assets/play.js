// A station's program played in true time over the picture of the station: heads move, parts appear as they are placed.
//
// The steps come from `play.json`: without a gap for each beam, a step without a place leaves the head where it is. The picture says
// how the panel's micrometres lie in it (data-scale per mm, data-left, data-bottom), and how large it is (data-panel, mm). Nothing plays before somebody asks for it.

import { element } from "./pieces.js";

const SVG = "http://www.w3.org/2000/svg";
const WORDS = {
    "transfer": "panel change",
    "mark": "looks at a mark",
    "to-pick": "goes to pick",
    "pick": "picks",
    "feeder-wait": "waits for the feeder",
    "sight": "measures",
    "to-place": "goes to place",
    "place": "places",
    "turn": "turns",
    "nozzle-change": "changes nozzles",
    "head-swap": "changes the head",
    "tray-change": "waits for the tray",
    "dot": "sets adhesive on",
    "look": "looks at an area",
    "wait": "waits",
};

function drawn(parent, name, attributes) {
    const made = document.createElementNS(SVG, name);
    for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
    parent.append(made);
    return made;
}

/** What a step is, for people. */
function told(step) {
    const of = [step.reference, step.part].filter(Boolean).join(", ");
    const words = [WORDS[step.doing] ?? step.doing];
    if (of) words.push(of);
    if (step.slot) words.push(`${step.doing === "pick" ? "from" : "at"} ${step.slot}`);
    if (step.head) words.push(`to ${step.head}`);
    return words.join(" ");
}

/** A beam with where it is at the end of each step, in the picture. */
function prepared(beam, place) {
    const ends = [];
    // The first step goes on from where the panel before ended.
    let last = beam.steps.findLast((s) => s.x_um !== undefined);
    for (const step of beam.steps) {
        if (step.x_um !== undefined) last = step;
        ends.push(last ? place(last.x_um, last.y_um) : null);
    }
    return { ...beam, ends, at: 0 };
}

/** The step that holds at a time; looks near the last one first, since time mostly goes on. */
function stepAt(beam, time) {
    const { steps } = beam;
    let i = Math.min(beam.at, steps.length - 1);
    if (steps[i].from_us > time || time - steps[i].until_us > 2e6) {
        let [low, high] = [0, steps.length - 1];
        while (low < high) {
            const middle = (low + high + 1) >> 1;
            if (steps[middle].from_us <= time) low = middle;
            else high = middle - 1;
        }
        i = low;
    }
    while (i + 1 < steps.length && steps[i].until_us <= time) i++;
    beam.at = i;
    return i;
}

function positionAt(beam, i, time) {
    const [from, to] = [beam.ends[(i + beam.steps.length - 1) % beam.steps.length], beam.ends[i]];
    if (!from || !to) return to ?? from;
    const { from_us: start, until_us: end } = beam.steps[i];
    const share = end > start ? Math.min(1, Math.max(0, (time - start) / (end - start))) : 1;
    return { x: from.x + (to.x - from.x) * share, y: from.y + (to.y - from.y) * share };
}

export async function playProgram(root) {
    const part = (name) => root.querySelector(`[data-do="${name}"]`);
    const [button, slider, order] = [part("play"), part("time"), part("order")];
    const clock = root.querySelector("[data-clock]");
    const list = root.querySelector("[data-doing]");
    const svg = root.querySelector("svg");
    const [scale, left, bottom] = ["scale", "left", "bottom"].map((k) => Number(root.dataset[k]));
    const whole = svg.getAttribute("viewBox").split(" ").map(Number);
    const place = (x, y) => ({ x: left + (x / 1000) * scale, y: bottom - (y / 1000) * scale });
    const lines = [];
    let program;
    try {
        const answer = await fetch(root.dataset.play, { headers: { accept: "application/json" } });
        program = await answer.json();
        if (!answer.ok) throw new Error(program.title);
    } catch (why) {
        list.replaceChildren(element("li", { class: "refused" }, `The program did not come. ${why.message}`));
        return;
    }
    const bodies = new Map();
    for (const title of svg.querySelectorAll("path > title")) {
        const [name] = title.textContent.split(": ", 1);
        if (title.textContent.startsWith(`${name}: `)) bodies.set(name, title.parentElement);
    }
    const layer = drawn(svg, "g", { class: "heads" });
    const runs = { beams: setRun(program.beams), back: program.back ? setRun(program.back) : null };
    if (runs.back) order.parentElement.hidden = false;
    let run = runs.beams;
    let now = 0;
    let speed = 1;
    let last = null;
    // How much smaller heads are drawn where the picture is drawn larger.
    let shrunk = 1;

    /** Shows the whole station, or the panel as large as it can be. */
    function view(which) {
        const [wide, deep] = root.dataset.panel.split(" ").map((mm) => Number(mm) * scale);
        const margin = Math.max(wide, deep) * 0.06;
        const near = [left - margin, bottom - deep - margin, wide + 2 * margin, deep + 2 * margin];
        const box = which === "panel" ? near : whole;
        svg.setAttribute("viewBox", box.join(" "));
        svg.classList.toggle("near", which === "panel");
        shrunk = Math.max(box[2] / whole[2], box[3] / whole[3]);
        svg.style.setProperty("--shrunk", shrunk.toFixed(4));
        show();
    }

    /** Beams with their heads, and the parts in the order in which they come to lie on the panel. */
    function setRun(beams) {
        const placed = [];
        for (const beam of beams) {
            for (const step of beam.steps) {
                const body = step.doing === "place" && bodies.get(step.reference);
                if (body) placed.push({ at: step.until_us, body });
            }
        }
        placed.sort((a, b) => a.at - b.at);
        return { beams: beams.filter((b) => b.steps.length > 0).map((b) => prepared(b, place)), placed, shown: placed.length };
    }

    function begin(next) {
        run.placed.forEach((p) => p.body.removeAttribute("visibility"));
        run = next;
        run.shown = run.placed.length;
        layer.replaceChildren();
        run.heads = run.beams.map((beam, i) => {
            const head = drawn(layer, "g", { class: `head head-${i % 2}` });
            drawn(head, "circle", { r: 11 });
            drawn(head, "path", { d: "M-16 0H16M0 -16V16" });
            if (run.beams.length > 1) drawn(head, "text", { x: 14, y: -10 }).textContent = beam.name;
            return head;
        });
        lines.splice(0, lines.length, ...run.beams.map((beam) => ({ name: element("b", {}, `${beam.name}: `), words: element("span", {}) })));
        list.replaceChildren(...lines.map((l) => element("li", {}, l.name, l.words)));
        show();
    }

    function show() {
        slider.value = now;
        const words = `${(now / 1e6).toFixed(2)} s of ${(program.period_us / 1e6).toFixed(3)} s`;
        clock.textContent = words;
        slider.setAttribute("aria-valuetext", words);
        run.beams.forEach((beam, i) => {
            const at = stepAt(beam, now);
            const point = positionAt(beam, at, now);
            if (point) run.heads[i].setAttribute("transform", `translate(${point.x.toFixed(3)} ${point.y.toFixed(3)}) scale(${shrunk.toFixed(4)})`);
            lines[i].words.textContent = told(beam.steps[at]);
        });
        while (run.shown > 0 && run.placed[run.shown - 1].at > now) run.placed[--run.shown].body.setAttribute("visibility", "hidden");
        while (run.shown < run.placed.length && run.placed[run.shown].at <= now) run.placed[run.shown++].body.removeAttribute("visibility");
    }

    function frame(time) {
        if (last === null) return;
        now = Math.min(program.period_us, now + (time - last) * 1000 * speed);
        last = time;
        show();
        if (now >= program.period_us) pause();
        else window.requestAnimationFrame(frame);
    }
    function play() {
        if (now >= program.period_us) now = 0;
        last = performance.now();
        tell("Pause", "true");
        window.requestAnimationFrame(frame);
    }
    function pause() {
        last = null;
        tell("Play", "false");
    }
    function tell(words, pressed) {
        button.textContent = words;
        button.setAttribute("aria-pressed", pressed);
    }
    const toggle = () => (last === null ? play() : pause());
    function go(time) {
        now = Math.min(program.period_us, Math.max(0, time));
        if (last !== null) last = performance.now();
        show();
    }
    /** To the beginning of the step before or after, whichever beam has it nearest. */
    function step(forward) {
        const times = run.beams.flatMap((beam) => {
            const at = stepAt(beam, now);
            const near = forward ? beam.steps.slice(at + 1, at + 40) : beam.steps.slice(Math.max(0, at - 40), at + 1).reverse();
            const found = near.find((s) => (forward ? s.from_us > now : s.from_us < now));
            return found ? [found.from_us] : [];
        });
        if (times.length) go(forward ? Math.min(...times) : Math.max(...times));
        else go(forward ? program.period_us : 0);
    }

    button.addEventListener("click", toggle);
    part("start").addEventListener("click", () => go(0));
    slider.addEventListener("input", () => go(Number(slider.value)));
    order?.addEventListener("change", () => begin(runs[order.value]));
    root.querySelectorAll('input[name="speed"]').forEach((input) => input.addEventListener("change", () => (speed = Number(input.value))));
    root.querySelectorAll('input[name="view"]').forEach((input) => input.addEventListener("change", () => view(input.value)));
    document.addEventListener("keydown", (event) => {
        if (event.defaultPrevented || event.ctrlKey || event.altKey || event.metaKey) return;
        const { target, key } = event;
        if (["BUTTON", "A", "SELECT", "SUMMARY", "TEXTAREA"].includes(target.tagName)) return;
        if (key === " ") {
            event.preventDefault();
            toggle();
        } else if ((key === "ArrowLeft" || key === "ArrowRight") && target.tagName !== "INPUT") {
            event.preventDefault();
            pause();
            step(key === "ArrowRight");
        }
    });
    // A hidden page does not play.
    document.addEventListener("visibilitychange", () => document.hidden && pause());
    slider.max = program.period_us;
    begin(runs.beams);
    // What was chosen before the program came, or before the page was left, holds.
    for (const chosen of root.querySelectorAll("input:checked")) chosen.dispatchEvent(new Event("change"));
}
