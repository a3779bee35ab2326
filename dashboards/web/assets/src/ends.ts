// Moments of a trace as handles in it, to drag or to move by keys: the start and
// the end of a pull, where it may be parted, and between what one is to be logged.
// They write into the fields of a form below, which says what would come of
// them; only the form keeps anything.
import type uPlot from "uplot";
import { data, fill, getMarkup, numeric, part, say } from "./dom.js";

/** A form with its handles, by the names of its fields: one or two, the earlier first. */
interface Kind {
  form: string; // its data-part
  asks: string; // the data attribute of the chart that says what is asked
  at: Record<string, string>; // of each field, the attribute that says where its handle is first; empty: where the chart is looked at
}

const kinds: Kind[] = [
  { form: "limits", asks: "limits", at: { start: "limitFrom", end: "limitTo" } },
  { form: "parting", asks: "parting", at: { at: "" } },
  { form: "adding", asks: "adding", at: { start: "", end: "" } },
];

const keySteps: Record<string, number> = { ArrowLeft: -1, ArrowDown: -1, ArrowRight: 1, ArrowUp: 1, PageDown: -50, PageUp: 50 };
const settle = 150; // ms without a move after which the server is asked

/** The handles of a chart; none where it has none, or who looks may not move them. */
export function endsOf(root: HTMLElement): Ends[] {
  const there = (k: Kind) => root.dataset[k.asks] !== undefined && document.querySelector(`[data-part="${k.form}"]`);
  return kinds.filter(there).map((k) => new Ends(root, k));
}

export class Ends {
  private readonly form: HTMLDetailsElement;
  private readonly names: string[];
  private readonly at: Record<string, number> = {}; // NaN: nowhere yet
  private readonly handles: Record<string, HTMLElement> = {};
  private readonly fields: Record<string, HTMLInputElement> = {};
  private readonly step: number;
  private plot: uPlot | undefined;
  private waits = 0;
  private asked = 0;

  constructor(
    private readonly root: HTMLElement,
    private readonly kind: Kind,
  ) {
    this.form = part(document, kind.form) as HTMLDetailsElement;
    this.step = numeric(root, "step");
    this.names = Object.keys(kind.at);
    for (const name of this.names) {
      const first = kind.at[name];
      this.at[name] = first ? numeric(root, first) : NaN;
      this.fields[name] = this.form.querySelector(`[name="${name}"]`) as HTMLInputElement;
      this.handles[name] = this.make(name);
      this.field(name).addEventListener("change", () => void this.ask(true));
    }
    part(this.form, "try").addEventListener("click", (e) => {
      e.preventDefault();
      void this.ask(true);
    });
    this.form.addEventListener("toggle", () => this.plot && this.place(this.plot));
    if (this.form.open) void this.ask(true); // what was typed and refused
  }

  private field(name: string): HTMLInputElement {
    return this.fields[name] as HTMLInputElement;
  }

  private where(name: string): number {
    return this.at[name] ?? NaN;
  }

  private make(name: string): HTMLElement {
    const el = document.createElement("div");
    el.className = `end-handle ${name}`;
    el.tabIndex = 0;
    el.setAttribute("role", "slider");
    el.setAttribute("aria-label", data(this.root, `${name}Handle`));
    for (const down of ["mousedown", "touchstart", "dblclick"]) el.addEventListener(down, (e) => e.stopPropagation()); // not to zoom
    el.addEventListener("pointerdown", (e) => {
      e.preventDefault();
      el.setPointerCapture(e.pointerId);
      el.focus();
    });
    el.addEventListener("pointermove", (e) => {
      if (el.hasPointerCapture(e.pointerId)) this.drag(name, e.clientX);
    });
    el.addEventListener("keydown", (e) => this.key(name, e));
    return el;
  }

  private drag(name: string, x: number): void {
    const u = this.plot;
    if (u) this.move(name, u.posToVal(x - u.over.getBoundingClientRect().left, "x"));
  }

  private key(name: string, e: KeyboardEvent): void {
    const steps = keySteps[e.key];
    if (steps === undefined) return;
    e.preventDefault();
    e.stopPropagation(); // the chart has these keys too
    this.move(name, this.where(name) + steps * this.step);
  }

  /** Moves a handle, no further than the other one. */
  private move(name: string, to: number): void {
    const [first, last] = this.names;
    if (last !== undefined && first !== undefined) {
      to = name === first ? Math.min(to, this.where(last) - this.step) : Math.max(to, this.where(first) + this.step);
    }
    this.at[name] = to;
    this.field(name).value = this.clock(to);
    if (this.plot) this.place(this.plot);
    clearTimeout(this.waits);
    this.waits = window.setTimeout(() => void this.ask(false), settle);
  }

  /** Puts handles that are nowhere yet into what is looked at, evenly. */
  private begin(min: number, max: number): void {
    this.names.forEach((name, i) => {
      if (!Number.isNaN(this.where(name))) return;
      this.at[name] = min + ((max - min) * (i + 1)) / (this.names.length + 1);
      if (this.field(name).value === "") this.field(name).value = this.clock(this.where(name));
    });
  }

  /** Puts the handles where they are in a chart. */
  place(u: uPlot): void {
    this.plot = u;
    const { min, max } = u.scales["x"] ?? {};
    if (this.form.open && min != null && max != null) this.begin(min, max);
    for (const name of this.names) {
      const el = this.handles[name] as HTMLElement;
      if (el.parentElement !== u.over) u.over.append(el);
      const at = this.where(name);
      el.hidden = !this.form.open || min == null || max == null || !(at >= min && at <= max);
      if (Number.isNaN(at)) continue;
      el.style.left = `${u.valToPos(at, "x")}px`;
      el.setAttribute("aria-valuemin", String(min ?? at));
      el.setAttribute("aria-valuemax", String(max ?? at));
      el.setAttribute("aria-valuenow", at.toFixed(3));
      el.setAttribute("aria-valuetext", this.clock(at));
    }
  }

  /** A moment as the fields have it: the time of the day. */
  private clock(at: number): string {
    const day = 86_400_000;
    const ms = (((numeric(this.root, "origin") + at * 1000 - numeric(this.root, "midnight")) % day) + day) % day;
    const two = (v: number) => String(Math.floor(v)).padStart(2, "0");
    const digits = numeric(this.root, "digits");
    const whole = Math.min(Math.round((ms / 1000) * 10 ** digits), 86_400 * 10 ** digits - 1) / 10 ** digits;
    return `${two(whole / 3600)}:${two((whole / 60) % 60)}:${(whole % 60).toFixed(digits).padStart(3 + digits, "0")}`;
  }

  /** Asks what would come of the moments in the fields. */
  private async ask(typed: boolean): Promise<void> {
    clearTimeout(this.waits); // what a handle is to be asked for is in the fields
    const asked = ++this.asked;
    const url = new URL(data(this.root, this.kind.asks), location.href);
    for (const name of this.names) url.searchParams.set(name, this.field(name).value);
    const says = part(this.form, "tried");
    try {
      const markup = await getMarkup(url.href);
      if (asked !== this.asked) return;
      fill(says, markup);
    } catch {
      if (asked === this.asked) say(says, data(this.root, "limitsFailed"));
      return;
    }
    const told = says.firstElementChild as HTMLElement | null;
    if (!typed || !told || told.dataset["wrong"] !== undefined) return;
    for (const name of this.names) this.at[name] = numeric(told, name);
    if (this.plot) this.place(this.plot);
  }
}
