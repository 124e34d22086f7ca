import type { Column, CountRow, SeasonCounts } from './counts.ts';
import { type Rate, type Stratum, stratifiedExactTest, type Tail } from './exact-tests.ts';

/** Which of a row's two numbers is compared. */
export type Event = 'misses' | 'model';

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
  /** All of the others', before any adjustment. */
  others: Rate;
  /** How many others there are in the group. */
  othersCount: number;
  /** The unit's own in strata where others were seen too: what the test rests on. */
  comparable: Rate;
  /** Events the others' rates, observer by observer, would give the unit in its comparable chances. */
  expected: number;
  /** Mean of the events under no difference, the unit's own included: the centre of the exact test. */
  nullMean: number;
}

/** Rows of one duty and cut (and position, for officials), by number in `SeasonCounts.rows`. */
export interface Group {
  duty: string;
  situationCut: string | null;
  /** Empty where positions are taken together. */
  position: string;
  members: readonly number[];
}

interface GameOfUnit {
  events: number;
  usual: number;
  selfPairs: number;
}

/** Chances and events of every unit in every stratum of one group, as small dense tables. */
export class ComparedGroup {
  readonly group: Group;
  private readonly counts: SeasonCounts;
  private readonly units: number[] = [];
  private readonly strata: number[] = [];
  private rowsByUnit: CountRow[][] | undefined;
  private readonly unitColumn: Column;
  private readonly stratumOfMember: Int32Array;
  private readonly unitOfMember: Int32Array;
  private readonly opportunities: Float64Array;
  private readonly events: Record<Event, Float64Array>;
  private readonly total: { opportunities: Float64Array } & Record<Event, Float64Array>;

  constructor(counts: SeasonCounts, group: Group, unitColumn: Column, stratumColumn: Column) {
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

  compare(unit: number, event: Event): Comparison {
    const width = this.strata.length;
    const total = this.total;
    const own = { events: 0, opportunities: 0 };
    const all = { events: 0, opportunities: 0 };
    const comparable = { events: 0, opportunities: 0 };
    let expected = 0;
    let nullMean = 0;
    for (let k = 0; k < width; k++) {
      const n = this.opportunities[unit * width + k]!;
      const x = this.events[event][unit * width + k]!;
      const allN = total.opportunities[k]!;
      const allX = total[event][k]!;
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
      const allOpportunities = this.total.opportunities[k]!;
      const allEvents = this.total[event][k]!;
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
  exactPValue(unit: number, event: Event, tail: Tail): number {
    if (onWrongSide(this.compare(unit, event), tail)) return 1;
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
      const othersN = this.total.opportunities[k]! - this.opportunities[unit * width + k]!;
      const othersX = this.total[event][k]! - this.events[event][unit * width + k]!;
      result.push({ row, expected: othersN > 0 ? (row.opportunities * othersX) / othersN : null });
    }
    return result;
  }

  /**
   * Each unit's games: its events in them, what `usual` (by row number) would give, and the part of the square
   * of that which would pair a chance with itself.
   */
  gamesOfUnits(event: Event, usual: Float64Array): GameOfUnit[][] {
    const units: Map<number, GameOfUnit>[] = this.units.map(() => new Map());
    const { members } = this.group;
    for (let i = 0; i < members.length; i++) {
      const member = members[i]!;
      const row = this.counts.rows[member]!;
      const games = units[this.unitOfMember[i]!]!;
      const number = this.counts.game.of[member]!;
      let game = games.get(number);
      if (!game) {
        game = { events: 0, usual: 0, selfPairs: 0 };
        games.set(number, game);
      }
      game.events += row[event];
      game.usual += usual[member]!;
      game.selfPairs += usual[member]! ** 2 / row.opportunities;
    }
    return units.map((games) => [...games.values()]);
  }

  /**
   * Variance of a unit's events, given all events of each stratum, over that of the exact test, when each game
   * has a factor of its own on the rate with the variance given. A small change of the unit's games against the
   * others' moves its share by M p (1 - p) for M events in the stratum and p the unit's share of chances; strata
   * that share a game move together.
   */
  overdispersion(unit: number, event: Event, gameVariance: number): number {
    const width = this.strata.length;
    const sway = new Float64Array(width);
    let exact = 0;
    for (let k = 0; k < width; k++) {
      const n = this.opportunities[unit * width + k]!;
      const allN = this.total.opportunities[k]!;
      const allX = this.total[event][k]!;
      if (n === 0 || n === allN || allX === 0) continue;
      const share = n / allN;
      sway[k] = allX * share * (1 - share);
      exact += (sway[k]! * (allN - allX)) / Math.max(1, allN - 1);
    }
    if (exact <= 0) return 1;
    const games = new Map<number, number>();
    const { members } = this.group;
    for (let i = 0; i < members.length; i++) {
      const k = this.stratumOfMember[i]!;
      if (sway[k] === 0) continue;
      const own = this.unitOfMember[i] === unit;
      const n = this.opportunities[unit * width + k]!;
      const of = own ? n : n - this.total.opportunities[k]!; // others pull the other way
      const game = this.counts.game.of[members[i]!]!;
      const pull = (sway[k]! * this.counts.rows[members[i]!]!.opportunities) / of;
      games.set(game, (games.get(game) ?? 0) + pull);
    }
    let squares = 0;
    for (const pull of games.values()) squares += pull * pull;
    return 1 + (gameVariance * squares) / exact;
  }
}

function onWrongSide({ comparable, nullMean }: Comparison, tail: Tail): boolean {
  return tail === 'more'
    ? comparable.events <= Math.floor(nullMean)
    : comparable.events >= Math.ceil(nullMean);
}

/** Numbers the column's values met in `members` from 0; `met` receives them in that order. */
function renumber(members: readonly number[], column: Column, met: number[]): Int32Array {
  const result = new Int32Array(members.length);
  const numbers = column.scratch;
  for (let i = 0; i < members.length; i++) {
    const value = column.of[members[i]!]!;
    let number = numbers[value]! - 1;
    if (number < 0) {
      number = met.length;
      numbers[value] = number + 1;
      met.push(value);
    }
    result[i] = number;
  }
  for (const value of met) numbers[value] = 0;
  return result;
}

/** Number of different games in which the event happened at least once. */
export function gamesWith(rows: readonly CountRow[], event: Event | 'opportunities'): number {
  const games: string[] = [];
  for (const row of rows) if (row[event] > 0 && !games.includes(row.game)) games.push(row.game);
  return games.length;
}

/**
 * Rows grouped by duty and cut, and by position too where asked; in the order first met. A cut that holds all of a
 * duty's chances (a goal-line duty, at the goal line) is the duty itself and makes no group: it would be compared
 * twice.
 */
export function groupRows(counts: SeasonCounts, by: 'duty and position' | 'duty'): Group[] {
  const byPosition = by === 'duty and position';
  type Growing = Group & { members: number[]; opportunities: number };
  const groups: Growing[] = [];
  const index = new Map<string, Map<string, Growing[]>>();
  for (let i = 0; i < counts.rows.length; i++) {
    const row = counts.rows[i]!;
    const cut = row.situationCut || '';
    let cuts = index.get(row.duty);
    if (!cuts) {
      cuts = new Map();
      index.set(row.duty, cuts);
    }
    let positions = cuts.get(cut);
    if (!positions) {
      positions = [];
      cuts.set(cut, positions);
    }
    const at = byPosition ? counts.position.of[i]! : 0;
    let group = positions[at];
    if (!group) {
      group = {
        duty: row.duty,
        situationCut: cut === '' ? null : cut,
        position: byPosition ? row.position : '',
        members: [],
        opportunities: 0,
      };
      positions[at] = group;
      groups.push(group);
    }
    group.members.push(i);
    group.opportunities += row.opportunities;
  }
  return groups.filter((group) => {
    if (group.situationCut === null) return true;
    const at = byPosition ? counts.position.of[group.members[0]!]! : 0;
    const whole = index.get(group.duty)!.get('')?.[at];
    return !whole || group.opportunities < whole.opportunities;
  });
}
