// A job as it goes on: .job[data-live] names the stream of its figures. They are put where data-told says, the curve of takt and bound
// is drawn into figure.curve, and when the job is over its page is loaded once more.

import { element } from "./pieces.js";

const SVG = "http://www.w3.org/2000/svg";

const seconds = (us) => `${(us / 1e6).toFixed(2)} s`;
const gap = (takt, bound) => (bound > 0 ? `${((100 * (takt - bound)) / bound).toFixed(1)} %` : "–");

/** Waits between two attempts to listen again [ms]. */
const AGAIN = [1000, 2000, 4000, 8000, 15000];

/** Follows a job until it is over. */
export function watchJob(job) {
    const over = (state) => !["queued", "running"].includes(state);
    const title = document.title;
    const curve = job.querySelector("figure.curve");
    if (curve) curve.drawn = drawCurve(curve, JSON.parse(curve.dataset.curve || "[]"), 0);
    if (over(job.dataset.state)) return;
    const lost = element("p", { class: "warned", role: "status", hidden: true });
    job.prepend(lost);
    let source = null;
    let failed = 0;
    let timer = 0;

    function put(name, text) {
        const field = job.querySelector(`[data-told="${name}"]`);
        if (field && field.textContent !== text) field.textContent = text;
    }
    function tell(live) {
        const { takt_us: takt, bound_us: bound, share, curve: points } = live.told;
        put("state", live.words);
        put("takt", takt > 0 ? seconds(takt) : "–");
        put("bound", bound === null ? "–" : seconds(bound));
        put("gap", bound === null ? "–" : gap(takt, bound));
        put("seconds", `${live.told.seconds.toFixed(0)} s`);
        const bar = job.querySelector('progress[data-told="share"]');
        if (bar) bar.value = share;
        document.title = `${(100 * share).toFixed(0)} % · ${title}`;
        if (curve) drawCurve(curve, points, live.told.seconds);
        job.dataset.state = live.state;
        if (over(live.state)) {
            source.close();
            // What there is now (the plan, why it failed, nothing to stop any more) is on the page as the server writes it.
            window.location.reload();
        }
    }
    function listen() {
        source = new EventSource(job.dataset.live);
        source.addEventListener("open", () => {
            failed = 0;
            lost.hidden = true;
        });
        source.addEventListener("message", (event) => tell(JSON.parse(event.data)));
        source.addEventListener("error", () => {
            say("The connection to the room is lost; these are the last figures. Trying again …");
            // Where the browser gives up (an answer that is no stream), it is begun again here.
            if (source.readyState !== EventSource.CLOSED) return;
            window.clearTimeout(timer);
            timer = window.setTimeout(again, AGAIN[Math.min(failed++, AGAIN.length - 1)]);
        });
    }
    function say(text) {
        if (lost.textContent !== text) lost.textContent = text;
        lost.hidden = false;
    }
    async function again() {
        try {
            const answer = await fetch(window.location.href, { redirect: "manual" });
            if (answer.type === "opaqueredirect" || answer.status === 401) {
                lost.replaceChildren("You are signed out. ", element("a", { href: "/sign-in" }, "Sign in again"), " to see how the job goes on.");
                return;
            }
        } catch {
            // The server is away: the next attempt to listen says so as well.
        }
        listen();
    }
    // A hidden page holds no connection: browsers allow few to one server.
    document.addEventListener("visibilitychange", () => {
        window.clearTimeout(timer);
        source.close();
        if (!document.hidden && !over(job.dataset.state)) listen();
    });
    listen();
}

/** Round values over a range, about `most` of them. */
function ticks(low, high, most) {
    const raw = (high - low) / most;
    const power = 10 ** Math.floor(Math.log10(raw));
    const step = [1, 2, 5, 10].map((f) => f * power).find((s) => s >= raw) ?? raw;
    const out = [];
    for (let i = Math.ceil(low / step - 1e-9); i * step <= high + 1e-9 * step; i += 1) out.push(i * step);
    return { values: out, digits: Math.max(0, -Math.floor(Math.log10(step) + 1e-9)) };
}

/** Draws takt and bound over the seconds of planning; again whenever the figure changes its width. */
function drawCurve(figure, points, now) {
    figure.points = points;
    figure.now = now;
    if (!figure.sized) {
        figure.sized = new ResizeObserver(() => drawCurve(figure, figure.points, figure.now));
        figure.sized.observe(figure);
    }
    figure.querySelector("svg")?.remove();
    const shown = points.filter((p) => p[1] > 0);
    figure.hidden = shown.length === 0;
    if (figure.hidden) return;
    const last = shown.at(-1);
    const end = Math.max(now, last[0], 0.1);
    const edges = getComputedStyle(figure);
    const width = Math.max(figure.clientWidth - parseFloat(edges.paddingLeft) - parseFloat(edges.paddingRight), 260);
    const [height, left, right, top, bottom] = [240, 52, 12, 22, 36];
    // The first plan can be far above the rest: the picture is made for what comes after, and the line enters it from above.
    const highest = Math.min(Math.max(...shown.map((p) => p[1])), 1.6 * last[1]) / 1e6;
    const lowest = Math.min(...shown.map((p) => p[2] ?? p[1])) / 1e6;
    const room = Math.max((highest - lowest) * 0.12, 0.01 * highest);
    const [low, high] = [Math.max(0, lowest - room), highest + room];
    const x = (s) => left + ((width - left - right) * s) / end;
    const y = (s) => top + ((height - top - bottom) * (high - Math.min(s, 2 * high))) / (high - low);
    const words = last[2] === null
        ? `Takt ${seconds(last[1])} after ${end.toFixed(0)} s of planning; no bound yet.`
        : `Takt ${seconds(last[1])} and bound ${seconds(last[2])} after ${end.toFixed(0)} s of planning: a gap of ${gap(last[1], last[2])}.`;
    const svg = draw(null, "svg", { viewBox: `0 0 ${width} ${height}`, role: "img", "aria-label": words });
    const inner = draw(draw(svg, "clipPath", { id: "curve-field" }), "rect", { x: left, y: top, width: width - left - right, height: height - top - bottom });
    const field = inner.ownerSVGElement;
    const across = ticks(0, end, Math.max(3, Math.floor(width / 110)));
    for (const value of across.values) {
        draw(field, "line", { class: "grid", x1: x(value), x2: x(value), y1: top, y2: height - bottom });
        draw(field, "text", { x: x(value), y: height - bottom + 16, "text-anchor": "middle" }, value.toFixed(across.digits));
    }
    const up = ticks(low, high, 5);
    for (const value of up.values) {
        draw(field, "line", { class: "grid", x1: left, x2: width - right, y1: y(value), y2: y(value) });
        draw(field, "text", { x: left - 6, y: y(value) + 4, "text-anchor": "end" }, value.toFixed(up.digits));
    }
    draw(field, "path", { class: "axis", fill: "none", d: `M${left} ${top}V${height - bottom}H${width - right}` });
    draw(field, "text", { x: 2, y: 12 }, "s per panel");
    draw(field, "text", { x: width - right, y: height - 3, "text-anchor": "end" }, "s of planning");
    // Both hold until they change: steps, and the last of them goes on to now.
    const steps = (nth) => {
        const known = shown.filter((p) => p[nth] !== null).map((p) => [p[0], p[nth] / 1e6]);
        return known.flatMap((p, i) => (i === 0 ? [p] : [[p[0], known[i - 1][1]], p])).concat(known.length ? [[end, known.at(-1)[1]]] : []);
    };
    const path = (line) => line.map((p, i) => `${i === 0 ? "M" : "L"}${x(p[0]).toFixed(1)} ${y(p[1]).toFixed(1)}`).join("");
    const [takt, bound] = [steps(1), steps(2)];
    const lines = draw(field, "g", { "clip-path": "url(#curve-field)" });
    if (bound.length) {
        const above = takt.filter((p) => p[0] >= bound[0][0]);
        const from = takt.filter((p) => p[0] <= bound[0][0]).at(-1) ?? takt[0];
        draw(lines, "path", { class: "between", d: `${path([[bound[0][0], from[1]], ...above])}${path([...bound].reverse()).replace("M", "L")}Z` });
        draw(lines, "path", { class: "bound", d: path(bound) });
    }
    draw(lines, "path", { class: "takt", d: path(takt) });
    // The words stand above all of the line that is below them.
    const crest = Math.max(...takt.filter((p, i) => i + 1 >= takt.length || x(takt[i + 1][0]) > width - right - 100).map((p) => p[1]));
    draw(field, "text", { class: "name of-takt", x: width - right - 4, y: Math.max(y(crest) - 7, top + 12), "text-anchor": "end" }, `takt ${seconds(last[1])}`);
    if (last[2] !== null) {
        draw(field, "text", { class: "name of-bound", x: width - right - 4, y: y(last[2] / 1e6) + 16, "text-anchor": "end" }, `bound ${seconds(last[2])}`);
    }
    figure.prepend(svg);
}

function draw(parent, name, attributes, text) {
    const made = document.createElementNS(SVG, name);
    for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
    if (text !== undefined) made.textContent = text;
    parent?.append(made);
    return made;
}
