// Where the names of moments stand above a chart: in rows, each beside the
// line that runs down from it, none over another and no line through one.

/** A moment with the width of its name, in pixels. */
export interface Named {
  x: number;
  width: number;
  name: string;
}

/** A name in its place: from left to right, in a row counted upwards. */
export interface Placed extends Named {
  from: number;
  to: number;
  row: number;
}

const besideLine = 5; // pixels between a line and its name
const apart = 6; // and between two names, or a name and another line

/**
 * Places the names between two edges, from the last moment to the first: one
 * that stands right of its line leaves room below it for all that come
 * before. A name for which no row is found is left out.
 */
export function place(moments: Named[], left: number, right: number): Placed[] {
  const rest = [...moments].sort((a, b) => a.x - b.x);
  const placed: Placed[] = [];
  for (let m = rest.pop(); m; m = rest.pop()) {
    const found = find(m, rest, placed, left, right);
    if (found) placed.push(found);
  }
  return placed;
}

function find(m: Named, before: Named[], placed: Placed[], left: number, right: number): Placed | undefined {
  for (const from of [m.x + besideLine, m.x - besideLine - m.width, Math.max(left, Math.min(m.x - m.width / 2, right - m.width))]) {
    const to = from + m.width;
    if (from < left || to > right) continue;
    const under = before.filter((b) => within(b.x, from, to)).length; // rows that their names may want
    for (let row = under; row <= under + placed.length; row++) {
      if (free(m.x, from, to, row, placed)) return { ...m, from, to, row };
    }
  }
  return undefined;
}

function free(x: number, from: number, to: number, row: number, placed: Placed[]): boolean {
  return placed.every(
    (p) =>
      (p.row !== row || to + apart < p.from || from > p.to + apart) &&
      (p.row >= row || !within(x, p.from, p.to)) && // this line through that name
      (row >= p.row || !within(p.x, from, to)), // that line through this name
  );
}

function within(x: number, from: number, to: number): boolean {
  return x > from - 3 && x < to + 3;
}
