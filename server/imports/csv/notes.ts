/** Something about a file that the person who made it should know, though it is no error. */
export interface Note {
  text: string;
  /** The lines it is about, the first `listedLines` of them; empty when it is about the file. */
  lines: number[];
  /** How many lines it is about. */
  count: number;
}

/** How many line numbers are listed with one note or one problem. */
export const listedLines = 1000;

/** Collects notes; what is said of several lines is one note with their numbers. */
export class NoteList {
  readonly #notes = new Map<string, Note>();

  get listed(): Note[] {
    return [...this.#notes.values()];
  }

  /** One note for all that is told under `key`, in the words of the first. */
  addFirst(key: string, text: string, line: number): void {
    const note = this.#notes.get(key) ?? { text, lines: [], count: 0 };
    this.#notes.set(key, note);
    note.count += 1;
    if (note.lines.length < listedLines) note.lines.push(line);
  }

  /** The same text for several lines is one note. */
  add(text: string, line?: number): void {
    const note = this.#notes.get(text) ?? { text, lines: [], count: 0 };
    this.#notes.set(text, note);
    if (line === undefined) return;
    note.count += 1;
    if (note.lines.length < listedLines) note.lines.push(line);
  }
}
