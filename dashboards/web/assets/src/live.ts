// The line, live: digits, state, running trace, and results as they come.
// The server writes every word and number; this only puts them in place.
import uPlot from "uplot";
import { keepAsking } from "./ask.js";
import { data, fill, getJSON, getMarkup, numeric, part, say } from "./dom.js";
import { forceAxis, inks, onLookChange, wash, withUnit } from "./ink.js";
import { drawLimit, type Limit } from "./limit.js";
import { Crest, Sound } from "./sound.js";
import { points, type Trace } from "./trace.js";

/** A batch of columns and the words of the moment. */
interface Readings {
  t: number[];
  low: number[];
  high: number[];
  step: number;
  force: string;
  state: string;
  taut: boolean;
  peak: string;
  over: string;
}

interface Hello {
  boot: string;
}

interface Told {
  id: number;
}

interface StatusTold {
  cell: string;
  sentence: string;
  state: string; // of the line, where no reading comes
}

const shownSeconds = 30;
const digitsEvery = 100; // ms: faster digits cannot be read
const silentAfter = 6000; // ms without a beat: the stream is dead though open

/** Runs the live page below root. */
export function startLive(root: HTMLElement): void {
  new Live(root).connect();
}

class Live {
  private readonly perNewton: number;
  private readonly chart: RunningTrace;
  private readonly sound: Sound;
  private readonly crest = new Crest();
  private boot = "";
  private digitsAt = 0;
  private heardAt = 0;
  private turn = Promise.resolve(); // of the results to be shown
  private stream: EventSource | undefined;

  constructor(private readonly root: HTMLElement) {
    this.perNewton = numeric(root, "perNewton");
    this.chart = new RunningTrace(part(root, "trace"), data(root, "unit"));
    this.sound = new Sound(part(root, "sound"), part(root, "sound-says"));
    this.limit();
  }

  /** Draws the limit of the rig in force, which the server wrote below it. */
  private limit(): void {
    const said = document.querySelector<HTMLElement>('[data-part="limit"]');
    this.chart.limit = said ? { force: numeric(said, "newtons") * this.perNewton, label: data(said, "label"), above: data(said, "above") } : undefined;
  }

  connect(): void {
    this.stream?.close();
    this.heardAt = performance.now();
    const stream = new EventSource(data(this.root, "live"));
    this.stream = stream;
    const on = <T>(name: string, take: (told: T) => void) =>
      stream.addEventListener(name, (e: MessageEvent<string>) => {
        this.heardAt = performance.now();
        take(JSON.parse(e.data) as T);
      });
    on<Hello>("hello", (h) => void this.hello(h));
    on<Readings>("readings", (r) => this.readings(r));
    on<StatusTold>("status", (s) => this.status(s));
    on<Told>("pull", (p) => void this.pull(p));
    on<unknown>("rig", () => void this.rig());
    on<unknown>("beat", () => this.present(true));
    stream.onerror = () => this.lost(stream);
    if (this.watchdog === 0) this.watchdog = window.setInterval(() => this.listen(), 1000);
  }

  private watchdog = 0;

  /** A stream that is open but silent is made anew. */
  private listen(): void {
    if (performance.now() - this.heardAt < silentAfter) return;
    this.present(false);
    this.connect();
  }

  /** The browser retries by itself unless the answer was a refusal. */
  private lost(stream: EventSource): void {
    this.present(false);
    if (stream.readyState === EventSource.CLOSED) window.setTimeout(() => this.connect(), 2000);
  }

  private present(here: boolean): void {
    part(this.root, "gone").hidden = here;
    this.root.classList.toggle("stale", !here);
  }

  /** After a (re)connection: fetch what was missed. */
  private async hello(h: Hello): Promise<void> {
    if (this.boot !== "" && this.boot !== h.boot) {
      location.reload();
      return;
    }
    this.boot = h.boot;
    this.present(true);
    const recent = await getJSON<Trace>(data(this.root, "recent"));
    this.chart.begin(points(recent, 0, this.perNewton));
    await this.inTurn(async () => {
      const results = await getMarkup(data(this.root, "results"));
      keepAsking(() => fill(part(document, "results"), results));
      this.latest();
    });
  }

  /** Shows results in the order in which they were told: an answer that comes late replaces nothing newer. */
  private inTurn(step: () => Promise<void>): Promise<void> {
    const done = this.turn.then(step);
    this.turn = done.catch(() => undefined);
    return done;
  }

  private readings(r: Readings): void {
    this.present(true);
    this.chart.append(points({ ...r, from: 0, to: 0, n: r.t.map(() => 1) }, 0, this.perNewton), r.step / 1000);
    document.body.classList.toggle("taut", r.taut);
    say(part(this.root, "state"), r.state);
    this.sounds(r);
    const now = performance.now();
    if (now - this.digitsAt < digitsEvery) return;
    this.digitsAt = now;
    say(part(this.root, "force"), r.force);
    say(part(this.root, "peak"), r.peak);
  }

  private sounds(r: Readings): void {
    const over = part(this.root, "over");
    if (r.over !== "" && over.textContent === "") this.sound.limit();
    say(over, r.over);
    if (!r.taut) this.crest.begin();
    else if (r.t.filter((t, i) => this.crest.take(t, r.low[i] as number, r.high[i] as number)).length > 0) this.sound.peak();
  }

  private status(s: StatusTold): void {
    for (const el of this.root.querySelectorAll<HTMLElement>("[data-cell]")) {
      if (el.dataset["cell"] === s.cell) say(el, s.sentence);
    }
    if (s.cell !== data(this.root, "name")) return;
    this.root.classList.toggle("silent", s.state !== "");
    if (s.state === "") return;
    say(part(this.root, "state"), s.state);
    document.body.classList.remove("taut");
  }

  /** Draws the rig that is in force from now on. */
  private async rig(): Promise<void> {
    fill(part(document, "rig"), await getMarkup(data(this.root, "rig")));
    this.limit();
    part(this.root, "unset").hidden = document.querySelector('[data-part="set"]') !== null;
  }

  /** Tells the newest result beside the number, from where it may be out of sight. */
  private latest(): void {
    const told = part(document, "results").querySelector<HTMLTemplateElement>(".result > template");
    const link = part(this.root, "latest");
    link.hidden = told === null;
    if (told) link.replaceChildren(told.content.cloneNode(true));
  }

  /** Puts a result on top, or in place of its provisional self. */
  private pull(p: Told): Promise<void> {
    return this.inTurn(async () => {
      const markup = await getMarkup(`/pulls/${p.id}/result`);
      const results = part(document, "results");
      const fresh = document.createRange().createContextualFragment(markup);
      const old = document.getElementById(`pull-${p.id}`);
      keepAsking(() => (old ? old.replaceWith(fresh) : results.prepend(fresh)));
      part(document, "none-yet").hidden = true;
      this.latest();
    });
  }
}

class RunningTrace {
  private x: number[] = [];
  private low: (number | null)[] = [];
  private high: (number | null)[] = [];
  private plot: uPlot;
  private due = false;
  private begun = 0; // of the newest column, whose time is that of its latest reading
  private drawn: Limit | undefined;

  constructor(
    private readonly box: HTMLElement,
    private readonly unit: string,
  ) {
    this.plot = this.make();
    const again = () => {
      this.plot.destroy();
      this.plot = this.make();
      this.draw();
    };
    new ResizeObserver(() => this.plot.setSize(this.size())).observe(box);
    onLookChange(again);
  }

  /** The limit to draw; none where no rig is in force, or nothing limits it. */
  set limit(l: Limit | undefined) {
    this.drawn = l;
    this.draw();
  }

  /** Starts over with what the store holds of the last seconds. */
  begin([x, low, high]: [number[], (number | null)[], (number | null)[]]): void {
    const newest = x[x.length - 1] ?? -Infinity;
    const keep = this.x.findIndex((t) => t > newest);
    this.x = keep < 0 ? x : x.concat(this.x.slice(keep));
    this.low = keep < 0 ? low : low.concat(this.low.slice(keep));
    this.high = keep < 0 ? high : high.concat(this.high.slice(keep));
    this.draw();
  }

  append([x, low, high]: [number[], (number | null)[], (number | null)[]], step: number): void {
    const last = this.x[this.x.length - 1];
    const first = x[0];
    if (last !== undefined && first !== undefined) {
      if (first <= last) return this.appendNewer([x, low, high], last, step);
      if (first - last > Math.max(3 * step, 0.2)) this.push((first + last) / 2, null, null);
    }
    x.forEach((t, i) => this.push(t, low[i] ?? null, high[i] ?? null));
    this.trim();
  }

  private appendNewer(p: [number[], (number | null)[], (number | null)[]], last: number, step: number): void {
    const at = p[0].findIndex((t) => t > last);
    if (at >= 0) this.append([p[0].slice(at), p[1].slice(at), p[2].slice(at)], step);
  }

  /** Adds a column, or widens the newest one: more than one in a pixel only costs time. */
  private push(t: number, low: number | null, high: number | null): void {
    const i = this.x.length - 1;
    const [l, h] = [this.low[i], this.high[i]];
    if (low !== null && high !== null && l != null && h != null && t - this.begun < shownSeconds / Math.max(this.plot.bbox.width, 100)) {
      this.x[i] = t;
      this.low[i] = Math.min(l, low);
      this.high[i] = Math.max(h, high);
      return;
    }
    this.begun = t;
    this.x.push(t);
    this.low.push(low);
    this.high.push(high);
  }

  private trim(): void {
    const oldest = (this.x[this.x.length - 1] ?? 0) - shownSeconds - 1;
    const cut = this.x.findIndex((t) => t >= oldest);
    if (cut > 0) for (const a of [this.x, this.low, this.high]) a.splice(0, cut);
    this.draw();
  }

  /** Draws at most once a frame of the screen. */
  private draw(): void {
    if (this.due) return;
    this.due = true;
    requestAnimationFrame(() => {
      this.due = false;
      const end = this.x[this.x.length - 1] ?? 0;
      const ago = this.x.map((t) => t - end);
      this.plot.setData([ago, this.low, this.high], true);
      this.box.dataset["points"] = String(ago.length);
      this.box.dataset["newest"] = String(this.high[this.high.length - 1] ?? "");
    });
  }

  private size(): { width: number; height: number } {
    return { width: this.box.clientWidth, height: Math.max(this.box.clientHeight, 160) };
  }

  private make(): uPlot {
    const pen = inks();
    const axis = { stroke: pen.ink, font: pen.font, grid: { stroke: pen.faint, width: 1 }, ticks: { show: false } };
    return new uPlot(
      {
        ...this.size(),
        legend: { show: false },
        cursor: { show: false },
        scales: {
          x: { time: false, range: () => [-shownSeconds, 0] },
          y: { range: (_u, _low, high) => [Math.min(0, _low ?? 0), this.top(high ?? 0)] },
        },
        axes: [
          { ...axis, gap: 10, space: 70, values: (_u, at) => at.map((v) => (v === 0 ? this.box.dataset["now"] ?? "" : `${v} s`)) },
          { ...axis, size: forceAxis(this.unit), space: 36, values: (_u, at) => withUnit(at, this.unit) },
        ],
        series: [
          {},
          { stroke: pen.accent, width: 2, points: { show: false } },
          { stroke: pen.accent, width: 2, points: { show: false } },
        ],
        bands: [{ series: [2, 1], fill: wash(pen.accent, 0.55) }],
        hooks: { draw: [(u) => void (this.box.dataset["crossings"] = String(drawLimit(u, this.drawn)))] },
      },
      [[], [], []],
      this.box,
    );
  }

  /** The limit is on the scale unless that would make the trace tiny. */
  private top(high: number): number {
    const least = 10000 * numericAttr(this.box);
    const limit = this.drawn?.force ?? 0;
    return niceTop(limit <= 4 * Math.max(high, least) ? Math.max(high, limit) : high, least);
  }
}

function numericAttr(el: HTMLElement): number {
  return Number(el.dataset["perNewton"] ?? "0.001");
}

/** The scale's top stays put while the line is quiet, and leaves room above a peak. */
function niceTop(high: number, least: number): number {
  const want = Math.max(high * 1.1, least);
  const p = 10 ** Math.floor(Math.log10(want));
  for (const m of [1, 1.5, 2, 3, 4, 5, 6, 8, 10]) if (m * p >= want) return m * p;
  return want;
}
