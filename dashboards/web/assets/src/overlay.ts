// Pulls laid over each other. They are told apart by the form of their lines,
// whose names stand at their peaks and in the key.
import type { Figure, Mark, Stroke, Words } from "./figure.js";

interface Course {
  name: string;
  key: string; // its name and how its line looks
  peak: number;
  peak_s: number;
  from_s: number;
  step_s: number;
  force: number[];
}

/** Courses of pulls in the unit that is shown; times from the moment at which they are aligned. */
export interface Overlay {
  unit: string;
  courses: Course[];
  says: string;
}

/** The forms of the lines, in the order in which the server names them. */
const forms: { dashed: boolean; width: number; accent: boolean }[] = [
  { dashed: false, width: 3.5, accent: true },
  { dashed: false, width: 1.25, accent: false },
  { dashed: true, width: 3, accent: false },
  { dashed: true, width: 1.25, accent: false },
];

/** The chart, what is said below it, and its key. */
export function overlay(o: Overlay): [Figure, string, string] {
  const strokes: Stroke[] = [];
  const marks: Mark[] = [];
  const words: Words[] = [];
  o.courses.forEach((c, i) => {
    const form = forms[i % forms.length] as (typeof forms)[number];
    strokes.push({ x: c.force.map((_f, k) => c.from_s + k * c.step_s), y: c.force, ...form });
    marks.push({ x: c.peak_s, y: c.peak, low: c.peak, high: c.peak, shape: i, says: `${c.name}: ${+c.peak.toPrecision(3)} ${o.unit}` });
    words.push({ x: c.peak_s, y: c.peak, text: `  ${c.name}`, align: "left" });
  });
  const all = strokes.flatMap((s) => s.x);
  const top = Math.max(...o.courses.map((c) => c.peak), 1e-6);
  const key = o.courses.map((c) => c.key).join("   ");
  const y: [number, number] = [Math.min(0, ...strokes.flatMap((s) => s.y)), top * 1.15];
  return [{ x: [Math.min(...all, 0), Math.max(...all, 0)], y, xUnit: " s", yUnit: ` ${o.unit}`, rows: false, marks, strokes, words, margin: 0 }, o.says, key];
}
