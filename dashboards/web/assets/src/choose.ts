// Choosers that send their form as soon as something is chosen. Without the
// script the form's own button does the same.

/** Makes every form marked data-send-on-choice send itself. */
export function startChoosers(): void {
  for (const form of document.querySelectorAll<HTMLFormElement>("form[data-send-on-choice]")) {
    form.classList.add("self-sending");
    form.addEventListener("change", () => form.requestSubmit());
  }
}
