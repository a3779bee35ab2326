// What is drawn over a trace: moments with their names above it, the rise, the
// interval of the true peak, the filtered trace. All in ink, told apart by
// form; what the forms mean is written below the chart.
import type uPlot from "uplot";
import { inks } from "./ink.js";
import { place, type Placed } from "./names.js";
import type { Points } from "./trace.js";

/** A moment with its name; times are seconds from the chart's origin. */
export interface MarkAt {
  at: number;
  name: string;
}

/** A stretch of time. */
export interface Span {
  from: number;
  to: number;
}

/** The interval of the true peak, in the unit that is shown. */
export interface PeakAt {
  at: number;
  low: number;
  high: number;
}

const mostNames = 12; // more moments than that get a tick without a name
const nameSize = 14; // pixels
/** Pixels between the rows of names above a chart. */
export const nameRow = 19;

/** Gives the pen, in ink, and puts it back as it was; it stays within the chart unless told otherwise. */
function pen(u: uPlot, draw: (ctx: CanvasRenderingContext2D, k: number) => void, within = true): void {
  const ink = inks();
  const { ctx, bbox } = u;
  const k = devicePixelRatio;
  ctx.save();
  if (within) {
    ctx.beginPath();
    ctx.rect(bbox.left, bbox.top, bbox.width, bbox.height);
    ctx.clip();
  }
  ctx.strokeStyle = ctx.fillStyle = ink.ink;
  ctx.lineWidth = k;
  ctx.font = ink.font.replace("15px", `${nameSize * k}px`);
  ctx.textAlign = "left";
  ctx.textBaseline = "alphabetic";
  draw(ctx, k);
  ctx.restore();
}

function line(ctx: CanvasRenderingContext2D, ...to: [number, number][]): void {
  ctx.beginPath();
  to.forEach(([x, y], i) => (i === 0 ? ctx.moveTo(x, y) : ctx.lineTo(x, y)));
  ctx.stroke();
}

/** The moments that a chart shows. */
function seen(marks: MarkAt[], [from, to]: [number, number]): MarkAt[] {
  return marks.filter((m) => m.at >= from && m.at <= to);
}

/**
 * Places the names of the moments of a stretch over a chart that is drawn
 * between two edges of a canvas so wide; none where there are many.
 */
export function nameMarks(marks: MarkAt[], window: [number, number], [left, right]: [number, number], width: number): Placed[] {
  const shown = seen(marks, window);
  const ctx = document.createElement("canvas").getContext("2d");
  if (!ctx || shown.length > mostNames) return [];
  ctx.font = inks().font.replace("15px", `${nameSize}px`);
  const x = (at: number) => left + ((at - window[0]) / (window[1] - window[0])) * (right - left);
  return place(
    shown.map((m) => ({ x: x(m.at), width: ctx.measureText(m.name).width, name: m.name })),
    0,
    width,
  );
}

/** Moments as thin lines with their names above; a tick each where there are many. */
export function drawMarks(u: uPlot, marks: MarkAt[], names: Placed[]): void {
  const { min, max } = u.scales["x"] ?? {};
  const shown = seen(marks, [min ?? -Infinity, max ?? Infinity]);
  const many = shown.length > mostNames;
  const { top, height } = u.bbox;
  pen(u, (ctx, k) => {
    ctx.setLineDash(many ? [] : [4 * k, 4 * k]);
    ctx.lineWidth = (many ? 2 : 1) * k;
    for (const m of shown) {
      const x = u.valToPos(m.at, "x", true);
      line(ctx, [x, top], [x, top + (many ? 12 * k : height)]);
    }
  });
  pen(u, (ctx, k) => {
    for (const n of names) {
      const foot = top - (n.row * nameRow + 5) * k;
      line(ctx, [n.x * k, top], [n.x * k, foot - nameSize * k]);
      ctx.fillText(n.name, n.from * k, foot);
    }
  }, false);
}

/** The rise as a measure along the time, at the foot of the chart. */
export function drawRise(u: uPlot, rise: Span): void {
  pen(u, (ctx, k) => {
    const [a, b] = [u.valToPos(rise.from, "x", true), u.valToPos(rise.to, "x", true)];
    const y = u.bbox.top + u.bbox.height - 14 * k;
    ctx.lineWidth = 2 * k;
    line(ctx, [a, y], [b, y]);
    for (const x of [a, b]) line(ctx, [x, y - 6 * k], [x, y + 6 * k]);
  });
}

/** The interval of the true peak as a measure along the force. */
export function drawPeak(u: uPlot, peak: PeakAt): void {
  pen(u, (ctx, k) => {
    const x = u.valToPos(peak.at, "x", true);
    const [low, high] = [u.valToPos(peak.low, "y", true), u.valToPos(peak.high, "y", true)];
    ctx.lineWidth = 2 * k;
    line(ctx, [x, low], [x, high]);
    for (const y of [low, high]) line(ctx, [x - 7 * k, y], [x + 7 * k, y]);
  });
}

/** The filtered trace, thin and in ink, over the readings. */
export function drawFiltered(u: uPlot, [x, low, high]: Points): void {
  pen(u, (ctx, k) => {
    ctx.lineWidth = 1.5 * k;
    for (const y of [low, high]) {
      ctx.beginPath();
      let down = false;
      for (let i = 0; i < x.length; i++) {
        const v = y[i];
        if (v == null) {
          down = false;
          continue;
        }
        const at: [number, number] = [u.valToPos(x[i] as number, "x", true), u.valToPos(v, "y", true)];
        if (down) ctx.lineTo(...at);
        else ctx.moveTo(...at);
        down = true;
      }
      ctx.stroke();
    }
  });
}
