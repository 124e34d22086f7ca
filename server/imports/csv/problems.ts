/**
 * One thing wrong with an imported file, told so that the person who made the file can put it right.
 * `line` counts from 1, as a text editor does, and is where the row begins; 0 means the file as a whole.
 */
export interface Problem {
  line: number;
  /** The column's heading as the file format names it; empty when the whole line is meant. */
  column: string;
  /** What the file has there, cut to 80 characters. */
  value: string;
  problem: string;
  fix: string;
}

/** How many problems are listed in full; the rest are counted. Enough to see the kinds, short enough to read. */
export const listedProblems = 200;

const longestValue = 80;

/** Collects problems without growing past `listedProblems`, however bad a file is. */
export class ProblemList {
  readonly #listed: Problem[] = [];
  #count = 0;

  get count(): number {
    return this.#count;
  }

  /** In the order of the file's lines. */
  get listed(): Problem[] {
    return [...this.#listed].sort((a, b) => a.line - b.line);
  }

  /** Problems beyond the listed ones. */
  get unlisted(): number {
    return this.#count - this.#listed.length;
  }

  /** `count` when there are more of them than were handed over. */
  addMany(found: readonly Problem[], count = found.length): void {
    for (const each of found) this.add(each);
    this.#count += count - found.length;
  }

  add(found: Problem): void {
    this.#count += 1;
    if (this.#listed.length >= listedProblems) return;
    const characters = [...found.value];
    const value =
      characters.length > longestValue ? `${characters.slice(0, longestValue).join('')}…` : found.value;
    this.#listed.push({ ...found, value });
  }
}
