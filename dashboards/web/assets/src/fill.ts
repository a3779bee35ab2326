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
  if (fills === undefined || !list.form) return;
  for (const [name, value] of Object.entries(JSON.parse(fills) as Record<string, string>)) {
    const field = list.form.elements.namedItem(name);
    if (field instanceof HTMLInputElement || field instanceof HTMLSelectElement) field.value = value;
  }
}
