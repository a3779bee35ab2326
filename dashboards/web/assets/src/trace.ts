// A trace as the server sends it for drawing, and as the chart takes it.

/** Columns of least and largest force, in newtons; times in milliseconds. */
export interface Trace {
  from: number;
  to: number;
  /** Milliseconds between two readings; more than a few of them is a gap. */
  step: number;
  /** Milliseconds that a column takes in. Columns without a reading are left out. */
  wide?: number;
  t: number[];
  low: number[];
  high: number[];
  /** Readings in each column: all 1 once single readings are seen. */
  n: number[];
}

/** x, least, largest: null breaks the line. */
export type Points = [number[], (number | null)[], (number | null)[]];

/**
 * Turns columns into chart points: x in seconds from origin, forces in the
 * unit shown. Where columns lie further apart than readings and columns
 * explain, a null between them keeps the gap a gap.
 */
export function points(tr: Trace, origin: number, perNewton: number): Points {
  const x: number[] = [];
  const low: (number | null)[] = [];
  const high: (number | null)[] = [];
  const reach = 3 * Math.max(tr.step, singles(tr) ? 0 : tr.wide ?? 0);
  for (let i = 0; i < tr.t.length; i++) {
    const t = tr.t[i] as number;
    const before = tr.t[i - 1];
    if (before !== undefined && t - before > reach) {
      x.push(((t + before) / 2 - origin) / 1000);
      low.push(null);
      high.push(null);
    }
    x.push((t - origin) / 1000);
    low.push((tr.low[i] as number) * perNewton);
    high.push((tr.high[i] as number) * perNewton);
  }
  return [x, low, high];
}

/** Whether every column holds one reading. */
export function singles(tr: Trace): boolean {
  return tr.n.every((n) => n === 1);
}
