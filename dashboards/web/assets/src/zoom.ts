// One trace to zoom: the server gives the outline for the stretch on screen,
// down to single readings, so a day costs no more than a second.
import uPlot from "uplot";
import { data, getJSON, numeric, part, say } from "./dom.js";
import { inks, onLookChange, wash, withUnit } from "./ink.js";
import { points, singles, type Trace } from "./trace.js";

/** A stretch of time in seconds from the onset. */
type Window = [number, number];

interface MarkAt {
  at: number;
  name: string;
}

/** Runs the chart below root. */
export function startZoom(root: HTMLElement): void {
  const zoom = new Zoom(root);
  void zoom.show(zoom.whole, false);
}

class Zoom {
  readonly whole: Window;
  private readonly box: HTMLElement;
  private readonly origin: number;
  private readonly perNewton: number;
  private readonly marks: MarkAt[];
  private now: Window;
  private plot: uPlot | undefined;
  private asked: AbortController | undefined;
  private trace: Trace | undefined;

  constructor(private readonly root: HTMLElement) {
    this.box = part(root, "trace");
    this.origin = numeric(root, "origin");
    this.perNewton = numeric(root, "perNewton");
    this.marks = JSON.parse(data(root, "marks")) as MarkAt[];
    this.whole = [numeric(root, "from"), numeric(root, "to")];
    this.now = this.whole;
    this.wire();
    new ResizeObserver(() => this.plot?.setSize(this.size())).observe(this.box);
    onLookChange(() => this.draw(true));
  }

  private wire(): void {
    const on = (name: string, to: () => Window) =>
      part(this.root, name).addEventListener("click", () => void this.show(to()));
    const span = () => this.now[1] - this.now[0];
    on("whole", () => this.whole);
    on("rise", () => [numeric(this.root, "riseFrom"), numeric(this.root, "riseTo")]);
    on("in", () => [this.now[0] + span() / 4, this.now[1] - span() / 4]);
    on("out", () => [this.now[0] - span() / 2, this.now[1] + span() / 2]);
    on("earlier", () => [this.now[0] - span() / 2, this.now[1] - span() / 2]);
    on("later", () => [this.now[0] + span() / 2, this.now[1] + span() / 2]);
  }

  /** Fetches and draws a stretch. */
  async show([from, to]: Window, tell = true): Promise<void> {
    this.asked?.abort();
    const asked = (this.asked = new AbortController());
    const ns = (s: number) => `${Math.round(this.origin + s * 1000)}000000`;
    const columns = Math.max(200, Math.round(this.box.clientWidth));
    const url = `${data(this.root, "zoom")}?from=${ns(from)}&to=${ns(to)}&columns=${columns}`;
    try {
      this.trace = await getJSON<Trace>(url, asked.signal);
    } catch (err) {
      if (!asked.signal.aborted) say(part(this.root, "said"), data(this.root, "failed"));
      return;
    }
    this.now = [from, to];
    this.draw(false);
    if (tell) this.tell();
  }

  private tell(): void {
    const tr = this.trace;
    if (!tr) return;
    const many = tr.n.reduce((a, b) => a + b, 0);
    const words = singles(tr) ? data(this.root, "single") : data(this.root, "banded");
    say(part(this.root, "said"), words.replace("%d", many.toLocaleString("en")));
  }

  private draw(remake: boolean): void {
    if (!this.trace) return;
    const p = points(this.trace, this.origin, this.perNewton);
    const few = singles(this.trace) && this.trace.t.length < 250;
    if (remake || !this.plot || this.box.dataset["few"] !== String(few)) {
      this.plot?.destroy();
      this.plot = this.make(few);
    }
    this.box.dataset["few"] = String(few);
    this.box.dataset["points"] = String(this.trace.t.length);
    this.plot.setData(p, true);
  }

  private size(): { width: number; height: number } {
    return { width: this.box.clientWidth, height: Math.max(this.box.clientHeight, 220) };
  }

  private make(few: boolean): uPlot {
    const pen = inks();
    const axis = { stroke: pen.ink, font: pen.font, grid: { stroke: pen.faint, width: 1 }, ticks: { show: false } };
    const series = { stroke: pen.accent, width: 2, points: { show: few, size: 7, fill: pen.accent } };
    return new uPlot(
      {
        ...this.size(),
        legend: { show: false },
        cursor: { drag: { x: true, y: false, setScale: false }, points: { size: 8 }, y: false },
        scales: { x: { time: false, range: () => this.now }, y: { range: (_u, low, high) => room(low, high, this.now === this.whole) } },
        axes: [
          { ...axis, gap: 10, space: 80, values: (_u, at) => at.map((v) => `${+v.toFixed(4)} s`) },
          { ...axis, size: 70, space: 36, values: (_u, at) => withUnit(at, data(this.root, "unit")) },
        ],
        series: [{}, series, series],
        bands: [{ series: [2, 1], fill: wash(pen.accent, 0.55) }],
        hooks: {
          draw: [(u) => this.drawMarks(u)],
          setSelect: [(u) => this.select(u)],
          setCursor: [(u) => this.cursor(u)],
        },
      },
      [[], [], []],
      this.box,
    );
  }

  /** A drag over the chart zooms to it. */
  private select(u: uPlot): void {
    if (u.select.width < 8) return;
    const to: Window = [u.posToVal(u.select.left, "x"), u.posToVal(u.select.left + u.select.width, "x")];
    u.setSelect({ left: 0, top: 0, width: 0, height: 0 }, false);
    void this.show(to);
  }

  private cursor(u: uPlot): void {
    const i = u.cursor.idx;
    const x = i == null ? undefined : u.data[0][i];
    const y = i == null ? undefined : u.data[2]?.[i];
    if (x == null || y == null) return;
    say(part(this.root, "said"), `${x.toFixed(3)} s: ${y.toFixed(decimals(y))} ${data(this.root, "unit")}`);
  }

  /** Onset, peak and slack as thin lines with their names. */
  private drawMarks(u: uPlot): void {
    const { ctx, bbox } = u;
    const pen = inks();
    const ratio = devicePixelRatio;
    ctx.save();
    ctx.strokeStyle = pen.ink;
    ctx.fillStyle = pen.ink;
    ctx.lineWidth = ratio;
    ctx.font = pen.font.replace("15px", `${14 * ratio}px`);
    ctx.textAlign = "left";
    ctx.textBaseline = "alphabetic";
    ctx.setLineDash([4 * ratio, 4 * ratio]);
    let row = 0;
    for (const m of this.marks) {
      if (m.at < this.now[0] || m.at > this.now[1]) continue;
      const x = u.valToPos(m.at, "x", true);
      ctx.beginPath();
      ctx.moveTo(x, bbox.top);
      ctx.lineTo(x, bbox.top + bbox.height);
      ctx.stroke();
      const width = ctx.measureText(m.name).width;
      const left = x + width + 8 * ratio > bbox.left + bbox.width ? x - width - 6 * ratio : x + 6 * ratio;
      ctx.fillText(m.name, left, bbox.top + (16 + 18 * (row++ % 3)) * ratio);
    }
    ctx.restore();
  }
}

/** The whole pull is seen from zero; a closer look uses the height for what is there. */
function room(low: number | null, high: number | null, fromZero: boolean): [number, number] {
  const lo = fromZero ? Math.min(low ?? 0, 0) : (low ?? 0);
  const hi = Math.max(high ?? 1, lo + 1e-6);
  return [lo - (hi - lo) * (fromZero ? 0.03 : 0.1), hi + (hi - lo) * 0.2];
}

/** Three significant digits, like the page's numbers. */
function decimals(v: number): number {
  if (v === 0) return 1;
  return Math.min(4, Math.max(0, 2 - Math.floor(Math.log10(Math.abs(v)))));
}
