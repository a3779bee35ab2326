// Colours and pens for the charts, taken from the style sheet so that day
// and night are decided in one place.

/** The inks of the page as it looks now. */
export interface Inks {
  ink: string;
  paper: string;
  faint: string;
  accent: string;
  font: string;
}

/** Reads the inks from the style sheet. */
export function inks(): Inks {
  const style = getComputedStyle(document.documentElement);
  const get = (name: string) => style.getPropertyValue(name).trim();
  return {
    ink: get("--ink"),
    paper: get("--paper"),
    faint: get("--faint"),
    accent: get("--accent"),
    font: `15px ${getComputedStyle(document.body).getPropertyValue("--plain").trim() || "sans-serif"}`,
  };
}

/** Calls back when day turns to night or back. */
export function onLookChange(redraw: () => void): void {
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", redraw);
}

/** A colour written #rrggbb with an opacity, for the band between least and largest. */
export function wash(colour: string, alpha: number): string {
  return colour + Math.round(alpha * 255).toString(16).padStart(2, "0");
}

/** Width of a force axis: a kilogram-force and a pound-force take more digits. */
export function forceAxis(unit: string): number {
  return unit.length > 2 ? 94 : 70;
}

/** Labels of a force axis: the unit stands once, at the top. */
export function withUnit(at: number[], unit: string): string[] {
  return at.map((v, i) => (i === at.length - 1 ? `${+v.toFixed(6)} ${unit}` : String(+v.toFixed(6))));
}
