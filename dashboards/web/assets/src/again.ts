// Parts of a page that are asked for again while it is open: what the cell
// reads now, for instance. Without the script they say what was when it came.
import { data, fill, getMarkup } from "./dom.js";

const every = 700; // ms

/** Keeps el as the server has it, while the page can be seen. */
export function startAgain(el: HTMLElement): void {
  const look = async (): Promise<void> => {
    try {
      if (!document.hidden) {
        const markup = await getMarkup(data(el, "again"));
        if (el.innerHTML.trim() !== markup.trim()) fill(el, markup);
        const then = el.querySelector<HTMLAnchorElement>("a[data-then]");
        if (then) return location.replace(then.href);
      }
    } catch {
      // The server is away; it is asked again.
    }
    setTimeout(() => void look(), every);
  };
  void look();
}
