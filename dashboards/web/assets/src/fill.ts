// Choosing a vehicle or a rig fills in what the register knows of it. Without
// the script the server does the same for the fields that are left empty.

/** Wires every list whose choices fill in other fields. */
export function startFilling(): void {
  for (const list of document.querySelectorAll<HTMLSelectElement>("form.sheet select")) {
    list.addEventListener("change", () => fillFrom(list));
  }
}

function fillFrom(list: HTMLSelectElement): void {
  const fills = list.selectedOptions[0]?.dataset["fills"];
  const where = list.dataset["ask"];
  if (fills !== undefined) fill(list.form, JSON.parse(fills) as Fills);
  else if (where !== undefined && list.value !== "") void ask(list, where + encodeURIComponent(list.value));
}

/** What a choice fills in, by the names of fields. */
type Fills = Record<string, string>;

/** Asks what a choice fills in, of a register with too many to bring along. */
async function ask(list: HTMLSelectElement, where: string): Promise<void> {
  const chosen = list.value;
  const answer = await fetch(where);
  if (answer.ok && list.value === chosen) fill(list.form, (await answer.json()) as Fills);
}

function fill(form: HTMLFormElement | null, fills: Fills): void {
  for (const [name, value] of Object.entries(fills)) {
    const field = form?.elements.namedItem(name);
    if (field instanceof HTMLInputElement || field instanceof HTMLSelectElement) field.value = value;
  }
}
