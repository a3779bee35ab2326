// Tones for people who look at the line and not at the screen. Off until a
// person turns them on; kept for this browser. Nothing is told by sound alone.
import { data, say } from "./dom.js";

/** One tone: hertz, and seconds from now to its begin and of its length. */
type Tone = [number, number, number];

const peakTones: Tone[] = [[880, 0, 0.35]];
const limitTones: Tone[] = [
  [1760, 0, 0.12],
  [1760, 0.2, 0.12],
  [1760, 0.4, 0.12],
];
const kept = "tautlog-sound";

/** The button that turns tones on and off, with its state in words. */
export class Sound {
  private on = recall();
  private context: AudioContext | undefined;

  constructor(
    private readonly button: HTMLElement,
    private readonly says: HTMLElement,
  ) {
    button.hidden = false;
    button.addEventListener("click", () => this.turn());
    for (const touch of ["pointerdown", "keydown"]) document.addEventListener(touch, () => this.wake(), { passive: true });
    this.tell();
  }

  /** A new peak has passed. */
  peak(): void {
    this.play("peak", peakTones);
  }

  /** A limit was crossed. */
  limit(): void {
    this.play("limit", limitTones);
  }

  private turn(): void {
    this.on = !this.on;
    keep(this.on);
    if (this.on) void this.open().then(() => this.peak());
    else void this.context?.suspend().then(() => this.tell());
    this.tell();
  }

  /** After a page was loaded, browsers give sound once it was touched. */
  private wake(): void {
    if (this.on && this.context?.state !== "running") void this.open();
  }

  private async open(): Promise<void> {
    try {
      this.context ??= new AudioContext();
      await this.context.resume();
    } catch {
      this.context = undefined; // no sound device, or none allowed: said below
    }
    this.tell();
  }

  private tell(): void {
    const possible = typeof AudioContext === "function";
    const sounding = this.context?.state === "running";
    this.button.setAttribute("aria-pressed", String(this.on));
    say(this.says, data(this.button, !possible ? "saysNone" : !this.on ? "saysOff" : sounding ? "saysOn" : "saysWait"));
  }

  private play(what: string, tones: Tone[]): void {
    const context = this.context;
    if (!this.on || context?.state !== "running") return;
    for (const [hertz, from, lasts] of tones) {
      const begin = context.currentTime + from;
      const tone = new OscillatorNode(context, { type: "square", frequency: hertz });
      const loud = new GainNode(context, { gain: 0 });
      loud.gain.setValueAtTime(0.6, begin);
      loud.gain.setValueAtTime(0.6, begin + lasts - 0.03);
      loud.gain.linearRampToValueAtTime(0, begin + lasts);
      tone.connect(loud).connect(context.destination);
      tone.start(begin);
      tone.stop(begin + lasts);
    }
    this.button.dataset["sounded"] = `${this.button.dataset["sounded"] ?? ""} ${what}`.trim();
  }
}

// What is kept may be refused, in a private window for instance: then the
// choice holds while the page is open.

function recall(): boolean {
  try {
    return localStorage.getItem(kept) === "on";
  } catch {
    return false;
  }
}

function keep(on: boolean): void {
  try {
    localStorage.setItem(kept, on ? "on" : "off");
  } catch {
    return;
  }
}

const backFrom = 0.97; // of the largest: so far the force has to fall for a peak to have passed
const quietFor = 250; // ms without a larger force
const newBy = 1.02; // a peak is new when it is larger by this than the one before

/** Tells when the largest force of a pull has passed, each new one once. */
export class Crest {
  private largest = 0;
  private at = 0;
  private told = 0;

  /** Takes the next column of a taut line, of time t in ms; true when a new peak has passed. */
  take(t: number, low: number, high: number): boolean {
    if (high > this.largest) [this.largest, this.at] = [high, t];
    if (low > this.largest * backFrom || t - this.at < quietFor || this.largest <= this.told * newBy) return false;
    this.told = this.largest;
    return true;
  }

  /** Begins with another pull. */
  begin(): void {
    this.largest = this.told = 0;
  }
}
