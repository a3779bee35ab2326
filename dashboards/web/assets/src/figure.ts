// Points, lines and words on two axes: what the charts of multipliers are made
// of. uPlot gives the axes; the marks are drawn here, because a pull is told
// apart by its shape and not by a colour.
import uPlot from "uplot";
import { inks, onLookChange, type Inks } from "./ink.js";

/** Shapes that stand for grounds, in their order; the key writes them. */
export const shapes = ["○", "□", "△", "◇", "✕"] as const;

/** A mark with the interval along y, or along x where flat. */
export interface Mark {
  x: number;
  y: number;
  low: number;
  /** null: it has no upper end. */
  high: number | null;
  shape: number;
  says: string;
  link?: string | undefined;
}

/** A line through points. */
export interface Stroke {
  x: number[];
  y: number[];
  dashed: boolean;
  width: number;
  accent: boolean;
}

/** Words beside a point. */
export interface Words {
  x: number;
  y: number;
  text: string;
  align: CanvasTextAlign;
}

/** A chart on its way to the screen. */
export interface Figure {
  x: [number, number];
  y: [number, number];
  xUnit: string;
  yUnit: string;
  /** Rows have words of their own instead of an axis. */
  rows: boolean;
  marks: Mark[];
  strokes: Stroke[];
  words: Words[];
  /** Letters that must fit right of the marks. */
  margin: number;
}

/** Draws a figure in box and says which mark is pointed at. */
export function drawFigure(box: HTMLElement, figure: Figure, say: (words: string) => void): void {
  let plot = make(box, figure, say);
  box.dataset["points"] = String(figure.marks.length);
  new ResizeObserver(() => plot.setSize(size(box))).observe(box);
  onLookChange(() => {
    plot.destroy();
    plot = make(box, figure, say);
  });
}

function size(box: HTMLElement): { width: number; height: number } {
  return { width: box.clientWidth, height: Math.max(box.clientHeight, 220) };
}

function make(box: HTMLElement, f: Figure, say: (words: string) => void): uPlot {
  const pen = inks();
  const axis = { stroke: pen.ink, font: pen.font, grid: { stroke: pen.faint, width: 1 }, ticks: { show: false } };
  const labels = (unit: string) => (_u: uPlot, at: number[]) => at.map((v) => `${+v.toFixed(3)}${unit}`);
  const plot = new uPlot(
    {
      ...size(box),
      legend: { show: false },
      padding: [null, (f.xUnit.length + 4) * 4.5, null, null], // half of a label of the axis below
      cursor: { drag: { x: false, y: false }, points: { show: false }, x: false, y: false },
      scales: { x: { time: false, range: (u) => [f.x[0], f.x[1] + (f.x[1] - f.x[0]) * room(u, f.margin)] }, y: { range: () => f.y } },
      axes: [
        { ...axis, gap: 8, space: 70, values: labels(f.xUnit) },
        f.rows ? { ...axis, show: false } : { ...axis, size: 56, space: 36, values: labels(f.yUnit) },
      ],
      series: [{}, { show: false }],
      hooks: { draw: [(u) => paint(u, f, pen)] },
    },
    [f.x, f.y],
    box,
  );
  plot.over.addEventListener("pointermove", (e) => say(nearest(plot, f, e)?.says ?? ""));
  plot.over.addEventListener("click", (e) => {
    const link = nearest(plot, f, e)?.link;
    if (link) location.assign(link);
  });
  return plot;
}

/** The part of the width that so many letters take, over the rest of it. */
function room(u: uPlot, letters: number): number {
  const taken = letters * 8;
  return taken / Math.max(u.width - 60 - taken, taken);
}

/** The mark within a finger's breadth of the pointer. */
function nearest(u: uPlot, f: Figure, e: MouseEvent): Mark | undefined {
  const at = u.over.getBoundingClientRect();
  let best: Mark | undefined;
  let reach = 28;
  for (const m of f.marks) {
    const d = Math.hypot(u.valToPos(m.x, "x") - (e.clientX - at.left), u.valToPos(m.y, "y") - (e.clientY - at.top));
    if (d < reach) [best, reach] = [m, d];
  }
  return best;
}

function paint(u: uPlot, f: Figure, pen: Inks): void {
  const { ctx } = u;
  const k = devicePixelRatio;
  ctx.save();
  ctx.beginPath();
  ctx.rect(u.bbox.left, u.bbox.top, u.bbox.width, u.bbox.height);
  ctx.clip();
  for (const s of f.strokes) stroke(u, s, pen, k);
  for (const m of f.marks) mark(u, m, f.rows, pen, k);
  ctx.fillStyle = pen.ink;
  ctx.font = pen.font.replace("15px", `${14 * k}px`);
  ctx.textBaseline = "alphabetic";
  let above = -Infinity; // no word is written over another
  for (const w of [...f.words].sort((a, b) => b.y - a.y)) {
    ctx.textAlign = w.align;
    const y = Math.max(u.valToPos(w.y, "y", true), above + 16 * k);
    above = y;
    ctx.fillText(w.text, u.valToPos(w.x, "x", true), y);
  }
  ctx.restore();
}

function stroke(u: uPlot, s: Stroke, pen: Inks, k: number): void {
  const { ctx } = u;
  ctx.beginPath();
  s.x.forEach((x, i) => {
    const px = u.valToPos(x, "x", true);
    const py = u.valToPos(s.y[i] as number, "y", true);
    if (i === 0) ctx.moveTo(px, py);
    else ctx.lineTo(px, py);
  });
  ctx.strokeStyle = s.accent ? pen.accent : pen.ink;
  ctx.lineWidth = s.width * k;
  ctx.setLineDash(s.dashed ? [6 * k, 5 * k] : []);
  ctx.stroke();
  ctx.setLineDash([]);
}

/** A shape, and a thin line over the interval where that can be seen. */
function mark(u: uPlot, m: Mark, flat: boolean, pen: Inks, k: number): void {
  const { ctx } = u;
  const [px, py, r] = [u.valToPos(m.x, "x", true), u.valToPos(m.y, "y", true), 5 * k];
  const along = (v: number) => u.valToPos(v, flat ? "x" : "y", true);
  const from = along(m.low);
  const to = m.high === null ? (flat ? u.bbox.left + u.bbox.width : u.bbox.top) : along(m.high);
  ctx.strokeStyle = pen.ink;
  ctx.lineWidth = 1.5 * k;
  ctx.beginPath();
  if (Math.abs(to - from) > 2 * r) {
    if (flat) line(ctx, from, py, to, py);
    else line(ctx, px, from, px, to);
  }
  ctx.stroke();
  ctx.beginPath();
  outline(ctx, m.shape % shapes.length, px, py, r);
  ctx.stroke();
}

function line(ctx: CanvasRenderingContext2D, x1: number, y1: number, x2: number, y2: number): void {
  ctx.moveTo(x1, y1);
  ctx.lineTo(x2, y2);
}

function outline(ctx: CanvasRenderingContext2D, shape: number, x: number, y: number, r: number): void {
  const corners = (...points: [number, number][]) => {
    points.forEach(([dx, dy], i) => (i === 0 ? ctx.moveTo(x + dx * r, y + dy * r) : ctx.lineTo(x + dx * r, y + dy * r)));
    ctx.closePath();
  };
  if (shape === 0) ctx.arc(x, y, r, 0, 2 * Math.PI);
  else if (shape === 1) corners([-0.9, -0.9], [0.9, -0.9], [0.9, 0.9], [-0.9, 0.9]);
  else if (shape === 2) corners([0, -1.15], [1.1, 0.85], [-1.1, 0.85]);
  else if (shape === 3) corners([0, -1.25], [1.05, 0], [0, 1.25], [-1.05, 0]);
  else {
    line(ctx, x - r, y - r, x + r, y + r);
    line(ctx, x - r, y + r, x + r, y - r);
  }
}
