// The questions after a pull, answered by a tap without loading the page
// anew. Without the script each tap is an ordinary form.
import { data, part, say } from "./dom.js";

/** Sends every form marked data-ask by itself and shows what comes next in its place. */
export function startAsking(): void {
  document.addEventListener("submit", (e) => {
    const form = e.target as HTMLFormElement;
    if (form.dataset["ask"] === undefined) return;
    e.preventDefault();
    void answer(form, e.submitter);
  });
}

async function answer(form: HTMLFormElement, tapped: HTMLElement | null): Promise<void> {
  const sent = new URLSearchParams(new FormData(form, tapped) as unknown as Record<string, string>);
  sent.set("part", "1");
  try {
    const got = await fetch(form.action, { method: "POST", body: sent });
    const markup = await got.text();
    if (!got.ok) {
      say(part(form, "ask-says"), refusal(markup) ?? data(form, "failed"));
      return;
    }
    const next = document.createRange().createContextualFragment(markup).firstElementChild as HTMLElement;
    form.replaceWith(next);
    next.querySelector<HTMLElement>("[tabindex]")?.focus(); // so that it is read out, and the Tab key goes on from there
  } catch {
    say(part(form, "ask-says"), data(form, "failed"));
  }
}

/** What the page of a refusal says. */
function refusal(markup: string): string | undefined {
  return new DOMParser().parseFromString(markup, "text/html").querySelector("main p")?.textContent ?? undefined;
}

/** Changes results while a question that was begun keeps its place and its focus. */
export function keepAsking(change: () => void): void {
  const begun = [...document.querySelectorAll<HTMLElement>("[data-ask]")];
  const focus = document.activeElement;
  change();
  for (const old of begun) {
    const fresh = document.querySelector(`[data-ask="${old.dataset["ask"]}"]`);
    if (fresh && fresh !== old) fresh.replaceWith(old);
    if (focus instanceof HTMLElement && old.isConnected && old.contains(focus)) focus.focus();
  }
}
