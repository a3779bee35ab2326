// A table can be pasted into its field, or read from a file into it: the form
// is sent as an address, which cannot hold a file.

/** Puts beside every field that can take a file's text an input that reads one. */
export function startReading(): void {
  for (const area of document.querySelectorAll<HTMLTextAreaElement>("textarea[data-reads]")) {
    const label = document.createElement("label");
    label.className = "reads";
    const input = document.createElement("input");
    input.type = "file";
    input.accept = ".csv,.txt,.tsv,text/csv,text/plain";
    label.append(area.dataset["reads"] ?? "", input);
    input.addEventListener("change", () => void read(input, area));
    area.after(label);
  }
}

// What is too long is put in whole: the form says so beside the field.
async function read(input: HTMLInputElement, area: HTMLTextAreaElement): Promise<void> {
  const file = input.files?.[0];
  if (file === undefined) return;
  area.value = (await file.slice(0, area.maxLength + 1).text()).trimEnd();
  input.value = "";
  area.focus();
}
