// The start and the end of a pull as two handles in its trace, to drag or to
// move by keys. They write into the fields of the form below, which says what
// the pull would then be; only the form keeps anything.
import type uPlot from "uplot";
import { data, fill, getMarkup, numeric, part, say } from "./dom.js";

type Name = "start" | "end";
const names: Name[] = ["start", "end"];

const keySteps: Record<string, number> = { ArrowLeft: -1, ArrowDown: -1, ArrowRight: 1, ArrowUp: 1, PageDown: -50, PageUp: 50 };
const settle = 150; // ms without a move after which the server is asked

/** The handles of a chart; undefined where it has none, or who looks may not move them. */
export function endsOf(root: HTMLElement): Ends | undefined {
  return root.dataset["limits"] === undefined || !document.querySelector('[data-part="limits"]') ? undefined : new Ends(root);
}

export class Ends {
  private readonly form: HTMLDetailsElement;
  private readonly at: Record<Name, number>;
  private readonly handles: Record<Name, HTMLElement>;
  private readonly fields: Record<Name, HTMLInputElement>;
  private readonly step: number;
  private plot: uPlot | undefined;
  private waits = 0;
  private asked = 0;

  constructor(private readonly root: HTMLElement) {
    this.form = part(document, "limits") as HTMLDetailsElement;
    this.step = numeric(root, "step");
    this.at = { start: numeric(root, "limitFrom"), end: numeric(root, "limitTo") };
    const field = (name: Name) => this.form.querySelector(`[name="${name}"]`) as HTMLInputElement;
    this.fields = { start: field("start"), end: field("end") };
    this.handles = { start: this.make("start"), end: this.make("end") };
    for (const name of names) this.fields[name].addEventListener("change", () => void this.ask(true));
    part(this.form, "try").addEventListener("click", (e) => {
      e.preventDefault();
      void this.ask(true);
    });
    this.form.addEventListener("toggle", () => this.plot && this.place(this.plot));
    if (this.form.open) void this.ask(true); // what was typed and refused
  }

  private make(name: Name): HTMLElement {
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

  private drag(name: Name, x: number): void {
    const u = this.plot;
    if (u) this.move(name, u.posToVal(x - u.over.getBoundingClientRect().left, "x"));
  }

  private key(name: Name, e: KeyboardEvent): void {
    const steps = keySteps[e.key];
    if (steps === undefined) return;
    e.preventDefault();
    e.stopPropagation(); // the chart has these keys too
    this.move(name, this.at[name] + steps * this.step);
  }

  /** Moves a handle, no further than the other one. */
  private move(name: Name, to: number): void {
    const other = name === "start" ? this.at.end - this.step : this.at.start + this.step;
    this.at[name] = name === "start" ? Math.min(to, other) : Math.max(to, other);
    this.fields[name].value = this.clock(this.at[name]);
    if (this.plot) this.place(this.plot);
    clearTimeout(this.waits);
    this.waits = window.setTimeout(() => void this.ask(false), settle);
  }

  /** Puts the handles where they are in a chart. */
  place(u: uPlot): void {
    this.plot = u;
    const { min, max } = u.scales["x"] ?? {};
    for (const name of names) {
      const el = this.handles[name];
      if (el.parentElement !== u.over) u.over.append(el);
      const at = this.at[name];
      el.hidden = !this.form.open || min == null || max == null || at < min || at > max;
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

  /** Asks what the limits in the fields would make of the pull. */
  private async ask(typed: boolean): Promise<void> {
    clearTimeout(this.waits); // what a handle is to be asked for is in the fields
    const asked = ++this.asked;
    const url = new URL(data(this.root, "limits"), location.href);
    for (const name of names) url.searchParams.set(name, this.fields[name].value);
    const says = part(this.form, "tried");
    try {
      const markup = await getMarkup(url.href);
      if (asked !== this.asked) return;
      fill(says, markup);
    } catch {
      if (asked === this.asked) say(says, data(this.root, "limitsFailed"));
      return;
    }
    const told = says.firstElementChild as HTMLElement;
    if (!typed || told.dataset["wrong"] !== undefined) return;
    this.at.start = numeric(told, "from");
    this.at.end = numeric(told, "to");
    if (this.plot) this.place(this.plot);
  }
}
