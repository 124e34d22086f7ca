import { listedLines } from './notes.ts';

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

/** One value that is wrong in the same way on one line or many. */
export interface WrongValue {
  value: string;
  count: number;
  /** The first `listedLines` lines, in order; empty when the file as a whole is meant. */
  lines: number[];
}

/** The same thing wrong with one line or many. */
export interface ProblemGroup {
  column: string;
  problem: string;
  fix: string;
  count: number;
  /** The different values, the first `listedValues` of them. */
  values: WrongValue[];
  /** Lines with yet other values. */
  otherValues: number;
}

/** A problem whose words name a line: what is said of all of that kind together. */
export interface Alike {
  problem: string;
  fix: string;
}

/** How many problems, and how many groups of them, are listed in full; the rest are counted. */
export const listedProblems = 200;

const listedValues = 20;

const longestValue = 80;

/** Collects problems without growing past `listedProblems`, however bad a file is. */
export class ProblemList {
  readonly #listed: Problem[] = [];
  readonly #groups = new Map<string, ProblemGroup>();
  #count = 0;
  #inGroups = 0;

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

  /** What is wrong in the same way is one group. In the order of their first lines. */
  get groups(): ProblemGroup[] {
    const first = ({ values }: ProblemGroup) => values[0]?.lines[0] ?? 0;
    return [...this.#groups.values()]
      .map((group) => ({
        ...group,
        values: group.values.map((each) => ({ ...each, lines: [...each.lines].sort((a, b) => a - b) })),
      }))
      .sort((a, b) => first(a) - first(b));
  }

  /** Problems in no listed group. */
  get ungrouped(): number {
    return this.#count - this.#inGroups;
  }

  /** `count` when there are more of them than were handed over. */
  addMany(found: readonly (Problem & { alike?: Alike })[], count = found.length): void {
    for (const { alike, ...each } of found) this.add(each, alike);
    this.#count += count - found.length;
  }

  add(found: Problem, alike: Alike = found): void {
    this.#count += 1;
    const characters = [...found.value];
    const value =
      characters.length > longestValue ? `${characters.slice(0, longestValue).join('')}…` : found.value;
    this.#group({ line: found.line, column: found.column, value, problem: alike.problem, fix: alike.fix });
    if (this.#listed.length < listedProblems) this.#listed.push({ ...found, value });
  }

  #group({ line, column, value, problem, fix }: Problem): void {
    const key = JSON.stringify([column, problem, fix]);
    let group = this.#groups.get(key);
    if (group === undefined) {
      if (this.#groups.size >= listedProblems) return;
      group = { column, problem, fix, count: 0, values: [], otherValues: 0 };
      this.#groups.set(key, group);
    }
    this.#inGroups += 1;
    group.count += 1;
    let same = group.values.find((each) => each.value === value);
    if (same === undefined) {
      if (group.values.length >= listedValues) {
        group.otherValues += 1;
        return;
      }
      same = { value, count: 0, lines: [] };
      group.values.push(same);
    }
    same.count += 1;
    if (line > 0 && same.lines.length < listedLines) same.lines.push(line);
  }
}
