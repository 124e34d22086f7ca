import { type Column, type CountRow, type Event, renumber, type SeasonCounts } from './counts.ts';
import { type Rate, type Stratum, stratifiedExactTest, type Tail } from './exact-tests.ts';
import type { RowGroup } from './row-groups.ts';

/**
 * One unit (an official, a crew, a week) held against the others in the same group of rows.
 *
 * Severity: observers differ in how strictly they mark, so rows are stratified by observer and a unit is
 * compared only with others whom the *same observers* saw at the same duty. We chose the exact conditional
 * test over a logistic offset by fitted observer effects because it needs no fitted severity: an offset is
 * itself an estimate, from few games, and a test that takes it as known rejects too often. The price is a
 * little power, and that chances seen by an observer who saw nobody else in the position tell nothing: they
 * are left out of `comparable`.
 */
export interface Comparison {
  unit: string;
  /** All of the unit's own. */
  own: Rate;
  /** All of the others' who are in the baseline, before any adjustment. */
  others: Rate;
  /** How many others there are in the group, and how many of them the baseline leaves out. */
  othersCount: number;
  othersLeftOut: number;
  /** The unit's own in strata where others were seen too: what the test rests on. */
  comparable: Rate;
  /** Events the others' rates, observer by observer, would give the unit in its comparable chances. */
  expected: number;
  /** Mean of the events under no difference, the unit's own included: the centre of the exact test. */
  nullMean: number;
}

type Totals = { opportunities: Float64Array } & Record<Event, Float64Array>;

/** Chances and events of every unit in every stratum of one group, as small dense tables. */
export class ComparedGroup {
  readonly group: RowGroup;
  readonly counts: SeasonCounts;
  private readonly units: number[] = [];
  private readonly strata: number[] = [];
  private rowsByUnit: CountRow[][] | undefined;
  private readonly unitColumn: Column;
  readonly stratumOfMember: Int32Array;
  readonly unitOfMember: Int32Array;
  private readonly opportunities: Float64Array;
  private readonly events: Record<Event, Float64Array>;
  /** Of those in the baseline: all but those left out. */
  private total: Totals;
  private leftOut: Uint8Array;
  private leftOutCount = 0;
  /** The same group with nobody left out. */
  private whole: ComparedGroup = this;

  constructor(counts: SeasonCounts, group: RowGroup, unitColumn: Column, stratumColumn: Column) {
    this.counts = counts;
    this.group = group;
    this.unitColumn = unitColumn;
    const { members } = group;
    this.unitOfMember = renumber(members, unitColumn, this.units);
    this.stratumOfMember = renumber(members, stratumColumn, this.strata);
    const width = this.strata.length;
    this.opportunities = new Float64Array(this.units.length * width);
    this.events = {
      misses: new Float64Array(this.units.length * width),
      model: new Float64Array(this.units.length * width),
    };
    this.leftOut = new Uint8Array(this.units.length);
    this.total = {
      opportunities: new Float64Array(width),
      misses: new Float64Array(width),
      model: new Float64Array(width),
    };
    for (let i = 0; i < members.length; i++) {
      const row = counts.rows[members[i]!]!;
      const stratum = this.stratumOfMember[i]!;
      const cell = this.unitOfMember[i]! * width + stratum;
      this.opportunities[cell]! += row.opportunities;
      this.events.misses[cell]! += row.misses;
      this.events.model[cell]! += row.model;
      this.total.opportunities[stratum]! += row.opportunities;
      this.total.misses[stratum]! += row.misses;
      this.total.model[stratum]! += row.model;
    }
  }

  get size(): number {
    return this.units.length;
  }

  /** Whether the event happened to anyone at all. */
  has(event: Event): boolean {
    return this.total[event].some((value) => value > 0);
  }

  nameOf(unit: number): string {
    return this.unitColumn.names[this.units[unit]!]!;
  }

  /** Number of the unit so named, -1 where the group has none. */
  find(name: string): number {
    return this.units.findIndex((number) => this.unitColumn.names[number] === name);
  }

  /**
   * The same group with some units left out of the baseline: none of the others is held against them. They
   * themselves are still compared, with those who are in it.
   */
  without(names: ReadonlySet<string>): ComparedGroup {
    const leftOut = new Uint8Array(this.size);
    let leftOutCount = 0;
    for (let unit = 0; unit < this.size; unit++) {
      if (!names.has(this.nameOf(unit))) continue;
      leftOut[unit] = 1;
      leftOutCount++;
    }
    if (leftOutCount === 0) return this.whole;
    const { whole } = this;
    const total: Totals = {
      opportunities: whole.total.opportunities.slice(),
      misses: whole.total.misses.slice(),
      model: whole.total.model.slice(),
    };
    const width = this.strata.length;
    for (let unit = 0; unit < this.size; unit++) {
      if (!leftOut[unit]) continue;
      for (let k = 0; k < width; k++) {
        total.opportunities[k]! -= this.opportunities[unit * width + k]!;
        total.misses[k]! -= this.events.misses[unit * width + k]!;
        total.model[k]! -= this.events.model[unit * width + k]!;
      }
    }
    const copy: ComparedGroup = Object.create(ComparedGroup.prototype);
    return Object.assign(copy, this, { total, leftOut, leftOutCount, whole });
  }

  get namesLeftOut(): ReadonlySet<string> {
    return new Set(
      [...this.leftOut.keys()].filter((unit) => this.leftOut[unit]).map((unit) => this.nameOf(unit)),
    );
  }

  /** The same group with nobody left out. */
  get everybody(): ComparedGroup {
    return this.whole;
  }

  isLeftOut(unit: number): boolean {
    return this.leftOut[unit] === 1;
  }

  get strataCount(): number {
    return this.strata.length;
  }

  opportunitiesOf(unit: number, k: number): number {
    return this.opportunities[unit * this.strata.length + k]!;
  }

  /** Beside its peers, or beside everybody where fewer than `least` chances compare: that can only hide a difference. */
  compareWithEnough(
    unit: number,
    event: Event,
    least: number,
  ): { compared: ComparedGroup; found: Comparison } {
    const found = this.compare(unit, event);
    if (found.comparable.opportunities >= least) return { compared: this, found };
    return { compared: this.everybody, found: this.everybody.compare(unit, event) };
  }

  /** Of the baseline and the unit, in stratum `k`. */
  ofAll(what: keyof Totals, unit: number, k: number): number {
    const own = what === 'opportunities' ? this.opportunities : this.events[what];
    return this.total[what][k]! + (this.leftOut[unit] ? own[unit * this.strata.length + k]! : 0);
  }

  compare(unit: number, event: Event): Comparison {
    const width = this.strata.length;
    const own = { events: 0, opportunities: 0 };
    const all = { events: 0, opportunities: 0 };
    const comparable = { events: 0, opportunities: 0 };
    let expected = 0;
    let nullMean = 0;
    for (let k = 0; k < width; k++) {
      const n = this.opportunities[unit * width + k]!;
      const x = this.events[event][unit * width + k]!;
      const allN = this.ofAll('opportunities', unit, k);
      const allX = this.ofAll(event, unit, k);
      own.events += x;
      own.opportunities += n;
      all.events += allX;
      all.opportunities += allN;
      if (n === 0 || allN === n) continue;
      comparable.events += x;
      comparable.opportunities += n;
      expected += (n * (allX - x)) / (allN - n);
      nullMean += (n * allX) / allN;
    }
    return {
      unit: this.nameOf(unit),
      own,
      others: { events: all.events - own.events, opportunities: all.opportunities - own.opportunities },
      othersCount: this.size - 1,
      othersLeftOut: this.leftOutCount - this.leftOut[unit]!,
      comparable,
      expected,
      nullMean,
    };
  }

  private strataOf(unit: number, event: Event): Stratum[] {
    const width = this.strata.length;
    const strata: Stratum[] = [];
    for (let k = 0; k < width; k++) {
      const opportunities = this.opportunities[unit * width + k]!;
      const allOpportunities = this.ofAll('opportunities', unit, k);
      const allEvents = this.ofAll(event, unit, k);
      // All or nobody's events, or nobody else: the unit's share is certain and tells nothing.
      if (opportunities === 0 || opportunities === allOpportunities || allEvents === 0) continue;
      const events = this.events[event][unit * width + k]!;
      strata.push({ events, opportunities, allEvents, allOpportunities });
    }
    return strata;
  }

  /**
   * One-sided exact p-value, or 1 where the unit is on the wrong side of the null mean. A sum of
   * hypergeometrics is a sum of independent yes-or-no events (Vatutin and Mikhailov 1982), whose median lies
   * within one of its mean (Jogdeo and Samuels 1968): there the exact value is at least one half, which no
   * family rejects, so taking 1 changes no decision and saves most of the work.
   */
  exactPValue(unit: number, event: Event, tail: Tail, comparison = this.compare(unit, event)): number {
    if (onWrongSide(comparison, tail)) return 1;
    return stratifiedExactTest(this.strataOf(unit, event), tail);
  }

  rowsOf(unit: number): readonly CountRow[] {
    if (!this.rowsByUnit) {
      this.rowsByUnit = this.units.map(() => []);
      const { members } = this.group;
      for (let i = 0; i < members.length; i++) {
        this.rowsByUnit[this.unitOfMember[i]!]!.push(this.counts.rows[members[i]!]!);
      }
    }
    return this.rowsByUnit[unit]!;
  }

  /** The unit's rows, each with the events that the others' rate in its stratum would give; null where none. */
  rowsWithExpected(unit: number, event: Event): { row: CountRow; expected: number | null }[] {
    const width = this.strata.length;
    const result: { row: CountRow; expected: number | null }[] = [];
    const { members } = this.group;
    for (let i = 0; i < members.length; i++) {
      if (this.unitOfMember[i] !== unit) continue;
      const row = this.counts.rows[members[i]!]!;
      const k = this.stratumOfMember[i]!;
      const othersN = this.ofAll('opportunities', unit, k) - this.opportunities[unit * width + k]!;
      const othersX = this.ofAll(event, unit, k) - this.events[event][unit * width + k]!;
      result.push({ row, expected: othersN > 0 ? (row.opportunities * othersX) / othersN : null });
    }
    return result;
  }
}

function onWrongSide({ comparable, nullMean }: Comparison, tail: Tail): boolean {
  return tail === 'more'
    ? comparable.events <= Math.floor(nullMean)
    : comparable.events >= Math.ceil(nullMean);
}
