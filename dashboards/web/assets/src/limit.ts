// The limit of the weakest item across a running trace, and where the trace
// crossed it.
import type uPlot from "uplot";
import { inks } from "./ink.js";

/** A limit in the unit that is shown, with what is written beside its line. */
export interface Limit {
  force: number;
  label: string;
  above: string;
}

/** Draws the limit over a chart of least (series 1) and largest (series 2); gives how often it was crossed. */
export function drawLimit(u: uPlot, limit: Limit | undefined): number {
  if (!limit) return 0;
  const pen = inks();
  const { ctx, bbox } = u;
  const k = devicePixelRatio;
  const onScale = limit.force <= (u.scales["y"]?.max ?? 0);
  const y = onScale ? u.valToPos(limit.force, "y", true) : bbox.top;
  ctx.save();
  ctx.strokeStyle = ctx.fillStyle = pen.ink;
  ctx.lineWidth = 2 * k;
  ctx.font = `600 ${pen.font.replace("15px", `${15 * k}px`)}`;
  ctx.textAlign = "left";
  ctx.textBaseline = onScale ? "bottom" : "top";
  if (onScale) {
    ctx.setLineDash([10 * k, 6 * k]);
    ctx.beginPath();
    ctx.moveTo(bbox.left, y);
    ctx.lineTo(bbox.left + bbox.width, y);
    ctx.stroke();
    ctx.setLineDash([]);
  }
  const words = onScale ? limit.label : `${limit.label}, ${limit.above}`;
  const at: [number, number, number] = [bbox.left + 6 * k, y + (onScale ? -6 : 4) * k, bbox.width - 12 * k];
  ctx.lineWidth = 6 * k; // on a little paper of its own, so that it can be read over the trace
  ctx.lineJoin = "round";
  ctx.strokeStyle = pen.paper;
  ctx.strokeText(words, ...at);
  ctx.fillText(words, ...at);
  const crossed = crossings(u.data, limit.force);
  for (const x of crossed) triangle(ctx, u.valToPos(x, "x", true), y, 11 * k);
  ctx.restore();
  return crossed.length;
}

/** Where the largest force came from below to above the limit. */
function crossings(d: uPlot.AlignedData, limit: number): number[] {
  const [x, , high] = d;
  const out: number[] = [];
  for (let i = 0; i < x.length; i++) {
    const before = high?.[i - 1] ?? -Infinity;
    if ((high?.[i] ?? -Infinity) > limit && before <= limit) out.push(x[i] as number);
  }
  return out;
}

/** The shape of "over rating", as in the verdicts. */
function triangle(ctx: CanvasRenderingContext2D, x: number, y: number, r: number): void {
  ctx.beginPath();
  ctx.moveTo(x, y - r);
  ctx.lineTo(x + r, y + r * 0.8);
  ctx.lineTo(x - r, y + r * 0.8);
  ctx.closePath();
  ctx.fill();
}
