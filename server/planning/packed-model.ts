/** A mixed-integer linear model as data, rows packed: minimise cost'x, rowLower <= Ax <= rowUpper. */
export interface LinearModel {
  readonly cost: number[];
  readonly lower: number[];
  readonly upper: number[];
  readonly whole: boolean[];
  readonly rowLower: number[];
  readonly rowUpper: number[];
  readonly rowStart: number[];
  readonly index: number[];
  readonly value: number[];
}

/** One that is built column by column and row by row. */
export class PackedModel implements LinearModel {
  readonly cost: number[] = [];
  readonly lower: number[] = [];
  readonly upper: number[] = [];
  readonly whole: boolean[] = [];
  readonly rowLower: number[] = [];
  readonly rowUpper: number[] = [];
  readonly rowStart: number[] = [0];
  readonly index: number[] = [];
  readonly value: number[] = [];

  /** @returns its number, the first 0. */
  column(cost: number, lower: number, upper: number, whole = false): number {
    this.cost.push(cost);
    this.lower.push(lower);
    this.upper.push(upper);
    this.whole.push(whole);
    return this.cost.length - 1;
  }

  row(lower: number, upper: number, terms: readonly (readonly [column: number, value: number])[]): void {
    for (const [column, value] of terms) {
      this.index.push(column);
      this.value.push(value);
    }
    this.rowStart.push(this.index.length);
    this.rowLower.push(lower);
    this.rowUpper.push(upper);
  }
}
