// The charts of multipliers: factor against speed, residuals, and classes
// beside what is assumed; the points of a calibration; pulls over each other.
// The server sends the numbers and the words.
import { data, getJSON, part, say } from "./dom.js";
import { overlay, type Overlay } from "./overlay.js";
import { drawFigure, shapes, type Figure, type Mark, type Stroke, type Words } from "./figure.js";

interface Point {
  name: string;
  link?: string;
  day: string;
  speed_kmh: number | null;
  factor: number;
  low: number;
  high: number | null;
}

interface Ground {
  ground: string;
  points: Point[];
  curve?: { speed_kmh: number; expected: number; upper_95_95: number | null }[];
}

interface ByGround {
  grounds: Ground[];
  spread?: number;
  says: string;
}

interface ByClass {
  classes: { class: string; median: number; upper_95_95: number | null; assumed: number | null; points: Point[] }[];
  says: string;
}

interface Calibration {
  unit: string;
  points: { name: string; force: number; residual: number; run: number }[];
  band: { force: number; half_95: number }[];
  says: string;
}

/** Draws the chart that root asks for. */
export async function startFigure(root: HTMLElement): Promise<void> {
  const said = part(root, "said");
  try {
    const [figure, says, key] = await fetched(data(root, "figure"), data(root, "url"));
    part(root, "key").textContent = key;
    say(said, says);
    const box = part(root, "plot");
    if (figure.rows) box.style.height = `${Math.max(220, figure.y[1] * 64 + 60)}px`;
    drawFigure(box, figure, (words) => say(said, words || says));
  } catch {
    say(said, data(root, "failed"));
    part(root, "plot").hidden = true;
  }
}

async function fetched(kind: string, url: string): Promise<[Figure, string, string]> {
  if (kind === "classes") {
    const c = await getJSON<ByClass>(url);
    return [classes(c), c.says, ""];
  }
  if (kind === "calibration") {
    const c = await getJSON<Calibration>(url);
    return [calibration(c), c.says, ""];
  }
  if (kind === "overlay") return overlay(await getJSON<Overlay>(url));
  const c = await getJSON<ByGround>(url);
  const key = c.grounds.map((g, i) => `${shapes[i % shapes.length]} ${g.ground}`).join("   ");
  return [kind === "residuals" ? residuals(c) : speeds(c), c.says, key];
}

function mark(p: Point, x: number, y: number, shape: number, more: string): Mark {
  const at = p.speed_kmh === null ? "" : ` at ${+p.speed_kmh.toFixed(1)} km/h`;
  return { x, y, low: p.low, high: p.high, shape, link: p.link, says: `${p.name}: ${p.factor.toFixed(2)}${at}, ${more}, ${p.day}` };
}

/** A range with room around it, from zero where it is near. */
function around(values: number[], zero: boolean): [number, number] {
  const low = zero ? 0 : Math.min(...values);
  const high = Math.max(...values);
  const room = (high - low || 1) * 0.08;
  return [zero ? 0 : low - room, high + room];
}

function speeds(c: ByGround): Figure {
  const marks = c.grounds.flatMap((g, i) => g.points.flatMap((p) => (p.speed_kmh === null ? [] : [mark(p, p.speed_kmh, p.factor, i, g.ground)])));
  const strokes: Stroke[] = [];
  const words: Words[] = [];
  for (const g of c.grounds) {
    const curve = g.curve ?? [];
    const x = curve.map((p) => p.speed_kmh);
    const y = curve.map((p) => p.expected);
    strokes.push({ x, y, dashed: false, width: 2, accent: true });
    const upper = curve.filter((p) => p.upper_95_95 !== null);
    strokes.push({ x: upper.map((p) => p.speed_kmh), y: upper.map((p) => p.upper_95_95 as number), dashed: true, width: 1.5, accent: true });
    const last = upper[upper.length - 1] ?? curve[curve.length - 1];
    if (last) words.push({ x: last.speed_kmh, y: last.upper_95_95 ?? last.expected, text: ` ${g.ground}`, align: "left" });
  }
  const x = around([...marks.map((m) => m.x), ...strokes.flatMap((s) => s.x)], false);
  const y = around([...marks.map((m) => m.high ?? m.y), ...strokes.flatMap((s) => s.y)], true);
  return { x, y, xUnit: " km/h", yUnit: " ×", rows: false, marks, strokes, words, margin: Math.max(...words.map((w) => w.text.length), 0) };
}

function residuals(c: ByGround): Figure {
  const marks = c.grounds.flatMap((g, i) => g.points.flatMap((p) => (p.speed_kmh === null ? [] : [mark(p, p.speed_kmh, p.factor, i, g.ground)])));
  const x = around(marks.map((m) => m.x), false);
  const spread = Math.exp(2 * (c.spread ?? 0));
  const across = (y: number, dashed: boolean): Stroke => ({ x, y: [y, y], dashed, width: 1.5, accent: true });
  const y = around([...marks.map((m) => m.y), spread, 1 / spread], false);
  return { x, y, xUnit: " km/h", yUnit: "", rows: false, marks, strokes: [across(1, false), across(spread, true), across(1 / spread, true)], words: [], margin: 0 };
}

/** One row a class, the first on top; a row is one high. */
function classes(c: ByClass): Figure {
  const marks: Mark[] = [];
  const strokes: Stroke[] = [];
  const words: Words[] = [];
  const upright = (x: number, row: number, half: number, dashed: boolean, accent: boolean) =>
    strokes.push({ x: [x, x], y: [row - half, row + half], dashed, width: dashed ? 2 : 3, accent });
  c.classes.forEach((k, i) => {
    const row = c.classes.length - i - 0.7;
    words.push({ x: 0, y: row + 0.34, text: k.class, align: "left" });
    for (const p of k.points) marks.push(mark(p, p.factor, row, 0, k.class));
    upright(k.median, row, 0.12, false, true);
    if (k.upper_95_95 !== null) upright(k.upper_95_95, row, 0.26, false, true);
    if (k.assumed !== null) upright(k.assumed, row, 0.26, true, false);
  });
  const x = around([...marks.map((m) => m.high ?? m.x), ...strokes.flatMap((s) => s.x)], true);
  return { x, y: [0, c.classes.length + 0.05], xUnit: " ×", yUnit: "", rows: true, marks, strokes, words, margin: 0 };
}

/** How far points lie from the curve, within the interval of a force. */
function calibration(c: Calibration): Figure {
  const marks = c.points.map((p): Mark => ({ x: p.force, y: p.residual, low: p.residual, high: p.residual, shape: p.run, says: p.name }));
  const force = c.band.map((b) => b.force);
  const edge = (sign: number): Stroke => ({ x: force, y: c.band.map((b) => sign * b.half_95), dashed: true, width: 1.5, accent: true });
  const x = around([0, ...marks.map((m) => m.x), ...force], false);
  const strokes = [edge(1), edge(-1), { x, y: [0, 0], dashed: false, width: 1.5, accent: true }];
  const y = around([...marks.map((m) => m.y), ...strokes.flatMap((s) => s.y)], false);
  return { x, y, xUnit: ` ${c.unit}`, yUnit: " N", rows: false, marks, strokes, words: [], margin: 0 };
}
