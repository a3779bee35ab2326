// What is drawn over a trace: moments with their names, the rise, the interval
// of the true peak, the filtered trace. All in ink, told apart by form.
import type uPlot from "uplot";
import { inks } from "./ink.js";
import type { Points } from "./trace.js";

/** A moment with its name; times are seconds from the chart's origin. */
export interface MarkAt {
  at: number;
  name: string;
}

/** A stretch of time with its name. */
export interface Span {
  from: number;
  to: number;
  name: string;
}

/** The interval of the true peak, in the unit that is shown. */
export interface PeakAt {
  at: number;
  low: number;
  high: number;
  name: string;
}

const mostNames = 12; // more moments than that get a tick without a name

/** Gives the pen, in ink, and puts it back as it was. */
function pen(u: uPlot, draw: (ctx: CanvasRenderingContext2D, k: number) => void): void {
  const ink = inks();
  const { ctx, bbox } = u;
  const k = devicePixelRatio;
  ctx.save();
  ctx.beginPath();
  ctx.rect(bbox.left, bbox.top, bbox.width, bbox.height);
  ctx.clip();
  ctx.strokeStyle = ctx.fillStyle = ink.ink;
  ctx.lineWidth = k;
  ctx.font = ink.font.replace("15px", `${14 * k}px`);
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

function fitsBeside(u: uPlot, ctx: CanvasRenderingContext2D, words: string, x: number, k: number): boolean {
  return x + ctx.measureText(words).width + 8 * k <= u.bbox.left + u.bbox.width;
}

/** Writes beside x, on its left where there is no room on its right. */
function beside(u: uPlot, ctx: CanvasRenderingContext2D, words: string, x: number, y: number, k: number): void {
  const width = ctx.measureText(words).width;
  const at = fitsBeside(u, ctx, words, x, k) ? x + 6 * k : Math.max(u.bbox.left, x - width - 6 * k);
  ctx.save(); // on a little paper of their own, so that words can be read over lines
  ctx.setLineDash([]);
  ctx.lineWidth = 5 * k;
  ctx.lineJoin = "round";
  ctx.strokeStyle = inks().paper;
  ctx.strokeText(words, at, y);
  ctx.restore();
  ctx.fillText(words, at, y);
}

/** Moments as thin lines with their names; a tick each where there are many. */
export function drawMarks(u: uPlot, marks: MarkAt[]): void {
  const { min, max } = u.scales["x"] ?? {};
  const seen = marks.filter((m) => m.at >= (min ?? -Infinity) && m.at <= (max ?? Infinity));
  const many = seen.length > mostNames;
  pen(u, (ctx, k) => {
    ctx.setLineDash(many ? [] : [4 * k, 4 * k]);
    ctx.lineWidth = (many ? 2 : 1) * k;
    seen.forEach((m, i) => {
      const x = u.valToPos(m.at, "x", true);
      line(ctx, [x, u.bbox.top], [x, u.bbox.top + (many ? 12 * k : u.bbox.height)]);
      if (!many) beside(u, ctx, m.name, x, u.bbox.top + (16 + 18 * (i % 3)) * k, k);
    });
  });
}

/** The rise as a measure along the time, at the foot of the chart. */
export function drawRise(u: uPlot, rise: Span): void {
  pen(u, (ctx, k) => {
    const [a, b] = [u.valToPos(rise.from, "x", true), u.valToPos(rise.to, "x", true)];
    const y = u.bbox.top + u.bbox.height - 14 * k;
    ctx.lineWidth = 2 * k;
    line(ctx, [a, y], [b, y]);
    for (const x of [a, b]) line(ctx, [x, y - 6 * k], [x, y + 6 * k]);
    const under = fitsBeside(u, ctx, rise.name, b, k) ? 4 * k : -28 * k; // else above the measure, not across it
    beside(u, ctx, rise.name, b, y + under, k);
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
    beside(u, ctx, peak.name, x + 6 * k, Math.max(low + 16 * k, u.bbox.top + 70 * k), k);
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
