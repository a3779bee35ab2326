// Small helpers to reach what the server rendered. A missing element is a
// mistake between template and script, and said as such.

/** Finds one element inside root by its data-part name. */
export function part(root: ParentNode, name: string): HTMLElement {
  const el = root.querySelector<HTMLElement>(`[data-part="${name}"]`);
  if (!el) throw new Error(`the page has no part "${name}"`);
  return el;
}

/** Reads a required data attribute. */
export function data(el: HTMLElement, name: string): string {
  const value = el.dataset[name];
  if (value === undefined) throw new Error(`the page has no data "${name}"`);
  return value;
}

/** Reads a required numeric data attribute. */
export function numeric(el: HTMLElement, name: string): number {
  const value = Number(data(el, name));
  if (!Number.isFinite(value)) throw new Error(`data "${name}" is not a number`);
  return value;
}

/** Puts arguments into a text: %s and %d in order, or %[2]s by place. */
export function put(text: string, ...args: string[]): string {
  let next = 0;
  return text.replace(/%(?:\[(\d)\])?[sd]/g, (_verb, place?: string) => args[place ? Number(place) - 1 : next++] ?? "");
}

// What is kept with the number before it (package bound).
const units = document.documentElement.dataset.units ?? "";
const between = new RegExp(`(\\d) (?=(?:${units})(?![\\p{L}\\d]))`, "gu");

/** Keeps numbers and their units on one line. */
export function bound(text: string): string {
  return units === "" ? text : text.replace(between, "$1\u00a0");
}

/** Sets text only where it changes, so that screen readers are not disturbed. */
export function say(el: HTMLElement, text: string): void {
  const said = bound(text);
  if (el.textContent !== said) el.textContent = said;
}

/** Puts server-rendered markup of this same origin in place of el's content. */
export function fill(el: HTMLElement, markup: string): void {
  el.replaceChildren(document.createRange().createContextualFragment(markup));
}

/** Gets a JSON document of a known shape from this server. */
export async function getJSON<T>(url: string, signal?: AbortSignal): Promise<T> {
  const answer = await fetch(url, signal ? { signal } : {});
  if (!answer.ok) throw new Error(`${url}: ${answer.status}`);
  return (await answer.json()) as T;
}

/** Gets a fragment of markup from this server. */
export async function getMarkup(url: string): Promise<string> {
  const answer = await fetch(url, { headers: { Accept: "text/html" } });
  if (!answer.ok) throw new Error(`${url}: ${answer.status}`);
  return answer.text();
}
