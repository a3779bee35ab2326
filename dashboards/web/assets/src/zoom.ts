// One trace to zoom: the server gives the outline for the stretch on screen,
// down to single readings, so a day costs no more than a second.
import uPlot from "uplot";
import { data, getJSON, numeric, part, put, say } from "./dom.js";
import { endsOf, type Ends } from "./ends.js";
import { forceAxis, inks, onLookChange, wash, withUnit } from "./ink.js";
import { drawFiltered, drawMarks, drawPeak, drawRise, nameMarks, nameRow, type MarkAt, type PeakAt, type Span } from "./marks.js";
import type { Placed } from "./names.js";
import { points, singles, type Points, type Trace } from "./trace.js";

const rightEdge = 24; // pixels right of the chart, for half a label of the time

/** A stretch of time in seconds from the origin. */
type Window = [number, number];

/** An outline, with the filtered trace beside it where it was asked for. */
interface Told extends Trace {
  filtered?: Trace;
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
  private readonly rise: Span | undefined;
  private readonly peak: PeakAt | undefined;
  private readonly axis: number; // pixels left of the chart
  private readonly clock: boolean;
  private readonly ends: Ends[];
  private names: Placed[] = [];
  private filter = false;
  private now: Window;
  private plot: uPlot | undefined;
  private asked: AbortController | undefined;
  private trace: Told | undefined;
  private filtered: Points | undefined;

  constructor(private readonly root: HTMLElement) {
    this.box = part(root, "trace");
    this.origin = numeric(root, "origin");
    this.perNewton = numeric(root, "perNewton");
    this.marks = (optional(root, "marks") as MarkAt[] | null) ?? [];
    this.rise = optional(root, "rise") as Span | undefined;
    this.peak = this.inUnit(optional(root, "peak") as PeakAt | undefined);
    this.axis = forceAxis(data(root, "unit"));
    this.clock = root.dataset["clock"] !== undefined;
    this.whole = [numeric(root, "from"), numeric(root, "to")];
    this.now = this.whole;
    this.ends = endsOf(root);
    this.wire();
    new ResizeObserver(() => this.resize()).observe(this.box);
    onLookChange(() => this.draw(true));
  }

  private inUnit(p: PeakAt | undefined): PeakAt | undefined {
    return p && { ...p, low: p.low * this.perNewton, high: p.high * this.perNewton };
  }

  private wire(): void {
    const on = (name: string, to: () => Window) =>
      this.root.querySelector(`[data-part="${name}"]`)?.addEventListener("click", () => void this.show(to()));
    on("whole", () => this.whole);
    on("rise", () => [numeric(this.root, "riseFrom"), numeric(this.root, "riseTo")]);
    on("in", () => this.around(0.5));
    on("out", () => this.around(2));
    on("earlier", () => this.moved(-0.5));
    on("later", () => this.moved(0.5));
    const filter = this.root.querySelector('[data-part="filter"]');
    filter?.addEventListener("click", () => {
      this.filter = !this.filter;
      filter.setAttribute("aria-pressed", String(this.filter));
      void this.show(this.now);
    });
    this.box.addEventListener("keydown", (e) => this.key(e));
  }

  /** The stretch so many times as long, around the middle or a place in it. */
  private around(times: number, at = (this.now[0] + this.now[1]) / 2): Window {
    return [at - (at - this.now[0]) * times, at + (this.now[1] - at) * times];
  }

  private moved(by: number): Window {
    const d = (this.now[1] - this.now[0]) * by;
    return [this.now[0] + d, this.now[1] + d];
  }

  private key(e: KeyboardEvent): void {
    const steps: Record<string, number> = { ArrowLeft: -1, ArrowRight: 1, PageUp: -20, PageDown: 20 };
    const at = this.plot?.data[0][this.plot.cursor.idx ?? -1];
    if (e.key in steps) this.step(steps[e.key] as number);
    else if (e.key === "+") void this.show(this.around(0.5, at));
    else if (e.key === "-") void this.show(this.around(2, at));
    else if (e.key === "Home") void this.show(this.whole);
    else return;
    e.preventDefault();
  }

  /** Moves the cursor by readings, or by columns where those are shown. */
  private step(by: number): void {
    const u = this.plot;
    if (!u || u.data[0].length === 0) return;
    let i = u.cursor.idx ?? (by > 0 ? -1 : u.data[0].length);
    do i += Math.sign(by);
    while (u.data[2]?.[i] === null); // over a gap
    i = Math.min(Math.max(i + by - Math.sign(by), 0), u.data[0].length - 1);
    u.setCursor({ left: u.valToPos(u.data[0][i] as number, "x"), top: u.valToPos(u.data[2]?.[i] ?? 0, "y") });
  }

  /** Fetches and draws a stretch. */
  async show([from, to]: Window, tell = true): Promise<void> {
    this.asked?.abort();
    const asked = (this.asked = new AbortController());
    const ns = (s: number) => `${Math.round(this.origin + s * 1000)}000000`;
    const columns = Math.max(200, Math.round(this.box.clientWidth));
    const url = new URL(data(this.root, "zoom"), location.href);
    url.searchParams.set("from", ns(from));
    url.searchParams.set("to", ns(to));
    url.searchParams.set("columns", String(columns));
    if (this.filter) url.searchParams.set("filter", "1");
    try {
      this.trace = await getJSON<Told>(url.href, asked.signal);
    } catch (err) {
      if (!asked.signal.aborted) say(part(this.root, "said"), data(this.root, "failed"));
      return;
    }
    this.filtered = this.trace.filtered && points(this.trace.filtered, this.origin, this.perNewton);
    this.now = [from, to];
    this.draw(false);
    if (tell) this.tell();
  }

  private tell(): void {
    const tr = this.trace;
    if (!tr) return;
    const many = tr.n.reduce((a, b) => a + b, 0);
    const words = singles(tr) ? data(this.root, "single") : data(this.root, "banded");
    say(part(this.root, "said"), put(words, many.toLocaleString(document.documentElement.lang)));
  }

  private draw(remake: boolean): void {
    if (!this.trace) return;
    const p = points(this.trace, this.origin, this.perNewton);
    this.name();
    const few = singles(this.trace) && this.trace.t.length < 250;
    if (remake || !this.plot || this.box.dataset["few"] !== String(few)) {
      this.plot?.destroy();
      this.plot = this.make(few);
    }
    this.box.dataset["few"] = String(few);
    this.box.dataset["points"] = String(this.trace.t.length);
    this.box.dataset["gaps"] = String(p[1].filter((v) => v === null).length);
    this.box.dataset["filtered"] = String(this.filtered?.[0].length ?? 0);
    this.plot.setData(p, true);
    this.box.dataset["shown"] = this.now.join(" ");
  }

  private resize(): void {
    this.name();
    this.plot?.setSize(this.size());
  }

  /** Finds the places of the names above the chart. */
  private name(): void {
    const width = this.box.clientWidth;
    this.names = nameMarks(this.marks, this.now, [this.axis, width - rightEdge], width);
    this.box.dataset["names"] = JSON.stringify(this.names);
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
        padding: [() => 12 + nameRow * this.names.reduce((most, n) => Math.max(most, n.row + 1), 0), rightEdge, null, null],
        cursor: { drag: { x: true, y: false, setScale: false }, points: { size: 8 }, y: false },
        scales: { x: { time: false, range: () => this.now }, y: { range: (_u, low, high) => this.room(low, high) } },
        axes: [
          { ...axis, gap: 10, space: this.clock ? 110 : 80, values: (_u, at) => at.map((v) => this.time(v)) },
          { ...axis, size: this.axis, space: 36, values: (_u, at) => withUnit(at, data(this.root, "unit")) },
        ],
        series: [{}, series, series],
        bands: [{ series: [2, 1], fill: wash(pen.accent, 0.55) }],
        hooks: {
          draw: [(u) => this.over(u)],
          setSelect: [(u) => this.select(u)],
          setCursor: [(u) => this.cursor(u)],
        },
      },
      [[], [], []],
      this.box,
    );
  }

  /** What is drawn over the readings. */
  private over(u: uPlot): void {
    if (this.filtered) drawFiltered(u, this.filtered);
    if (this.rise) drawRise(u, this.rise);
    if (this.peak) drawPeak(u, this.peak);
    drawMarks(u, this.marks, this.names);
    for (const e of this.ends) e.place(u);
  }

  /** A time as the axis and the cursor write it. */
  private time(v: number, fine = false): string {
    if (!this.clock) return fine ? `${v.toFixed(3)} s` : `${+v.toFixed(4)} s`;
    const short = fine || this.now[1] - this.now[0] < 10;
    return new Date(this.origin + v * 1000).toLocaleTimeString("en-GB", short ? { hour: "2-digit", minute: "2-digit", second: "2-digit", fractionalSecondDigits: fine ? 3 : 1 } : undefined);
  }

  /** The whole is seen from zero; a closer look uses the height for what is there. */
  private room(low: number | null, high: number | null): [number, number] {
    const whole = this.now === this.whole;
    const seen = this.peak && this.peak.at >= this.now[0] && this.peak.at <= this.now[1] ? this.peak : undefined;
    const lo = Math.min(whole ? 0 : Infinity, low ?? 0, seen?.low ?? Infinity);
    const hi = Math.max(high ?? 1, seen?.high ?? -Infinity, lo + 1e-6);
    return [lo - (hi - lo) * (whole ? 0.03 : 0.1), hi + (hi - lo) * 0.2];
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
    const [low, high] = i == null ? [] : [u.data[1]?.[i], u.data[2]?.[i]];
    if (x == null || low == null || high == null) return;
    const force = (v: number) => v.toFixed(decimals(high));
    const words = force(low) === force(high) ? force(high) : put(data(this.root, "between"), force(low), force(high));
    say(part(this.root, "said"), `${this.time(x, true)}: ${words} ${data(this.root, "unit")}`);
  }
}

/** Three significant digits, like the page's numbers. */
function decimals(v: number): number {
  if (v === 0) return 1;
  return Math.min(4, Math.max(0, 2 - Math.floor(Math.log10(Math.abs(v)))));
}

function optional(root: HTMLElement, name: string): unknown {
  const value = root.dataset[name];
  return value === undefined ? undefined : (JSON.parse(value) as unknown);
}
