import type { CountRow } from './counts.ts';
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
  rows: readonly CountRow[];
  /** All of the unit's own. */
  own: Rate;
  /** All of the others', before any adjustment. */
  others: Rate;
  /** The unit's own in strata where others were seen too: what the test rests on. */
  comparable: Rate;
  /** Events the others' rates, observer by observer, would give the unit in its comparable chances. */
  expected: number;
  /** Mean of the events under no difference, the unit's own included: the centre of the exact test. */
  nullMean: number;
  strata: readonly Stratum[];
}

interface Tally {
  events: number;
  opportunities: number;
}

interface UnitTally extends Tally {
  rows: CountRow[];
  strata: Map<string, Tally>;
}

function tallyIn<K>(tallies: Map<K, Tally>, key: K): Tally {
  let tally = tallies.get(key);
  if (!tally) {
    tally = { events: 0, opportunities: 0 };
    tallies.set(key, tally);
  }
  return tally;
}

/** Others' rate in each stratum for one unit; undefined where nobody else was seen. */
export type OthersRate = (stratum: string) => number | undefined;

export interface ComparedGroup {
  comparisons: Comparison[];
  /** For drawing: the rate that the others had in a stratum, seen from a unit. */
  othersRate(unit: string): OthersRate;
}

/** Compares every unit in `rows` with all other units in `rows`, stratum by stratum. */
export function compareUnits(
  rows: readonly CountRow[],
  unitOf: (row: CountRow) => string,
  stratumOf: (row: CountRow) => string,
  event: Event,
): ComparedGroup {
  const totals = new Map<string, Tally>();
  const units = new Map<string, UnitTally>();
  const all: Tally = { events: 0, opportunities: 0 };
  for (const row of rows) {
    const key = unitOf(row);
    let unit = units.get(key);
    if (!unit) {
      unit = { events: 0, opportunities: 0, rows: [], strata: new Map() };
      units.set(key, unit);
    }
    const stratum = stratumOf(row);
    unit.rows.push(row);
    for (const tally of [all, unit, tallyIn(totals, stratum), tallyIn(unit.strata, stratum)]) {
      tally.events += row[event];
      tally.opportunities += row.opportunities;
    }
  }

  const comparisons: Comparison[] = [];
  for (const [key, unit] of units) {
    const strata: Stratum[] = [];
    const comparable = { events: 0, opportunities: 0 };
    let expected = 0;
    let nullMean = 0;
    for (const [name, own] of unit.strata) {
      const total = totals.get(name)!;
      const othersOpportunities = total.opportunities - own.opportunities;
      if (othersOpportunities === 0) continue;
      comparable.events += own.events;
      comparable.opportunities += own.opportunities;
      expected += (own.opportunities * (total.events - own.events)) / othersOpportunities;
      nullMean += (own.opportunities * total.events) / total.opportunities;
      strata.push({
        events: own.events,
        opportunities: own.opportunities,
        allEvents: total.events,
        allOpportunities: total.opportunities,
      });
    }
    comparisons.push({
      unit: key,
      rows: unit.rows,
      own: { events: unit.events, opportunities: unit.opportunities },
      others: {
        events: all.events - unit.events,
        opportunities: all.opportunities - unit.opportunities,
      },
      comparable,
      expected,
      nullMean,
      strata,
    });
  }
  return {
    comparisons,
    othersRate: (unit) => (stratum) => {
      const total = totals.get(stratum);
      const own = units.get(unit)?.strata.get(stratum);
      if (!total) return undefined;
      const opportunities = total.opportunities - (own?.opportunities ?? 0);
      return opportunities > 0 ? (total.events - (own?.events ?? 0)) / opportunities : undefined;
    },
  };
}

/**
 * One-sided exact p-value of a comparison, or 1 where the unit is on the wrong side of the null mean. A sum
 * of hypergeometrics is a sum of independent yes-or-no events (Vatutin and Mikhailov 1982), whose median
 * lies within one of its mean (Jogdeo and Samuels 1968): there the exact value is at least one half, which
 * no family rejects, so taking 1 changes no decision and saves most of the work.
 */
export function pValueOf(comparison: Comparison, tail: Tail): number {
  const { comparable, nullMean, strata } = comparison;
  const wrongSide =
    tail === 'more' ? comparable.events <= Math.floor(nullMean) : comparable.events >= Math.ceil(nullMean);
  return wrongSide ? 1 : stratifiedExactTest(strata, tail);
}

/** Number of different games in which the event happened at least once. */
export function gamesWith(rows: readonly CountRow[], event: Event | 'opportunities'): number {
  const games = new Set<string>();
  for (const row of rows) if (row[event] > 0) games.add(row.game);
  return games.size;
}

/** Rows grouped by duty and cut, and by position too where asked; in the order first met. */
export function groupRows(
  rows: readonly CountRow[],
  byPosition: boolean,
): { duty: string; situationCut: string | null; position: string; rows: CountRow[] }[] {
  const groups: { duty: string; situationCut: string | null; position: string; rows: CountRow[] }[] = [];
  const index = new Map<string, Map<string, Map<string, CountRow[]>>>();
  for (const row of rows) {
    const cut = row.situationCut ?? '';
    const position = byPosition ? row.position : '';
    let cuts = index.get(row.duty);
    if (!cuts) {
      cuts = new Map();
      index.set(row.duty, cuts);
    }
    let positions = cuts.get(cut);
    if (!positions) {
      positions = new Map();
      cuts.set(cut, positions);
    }
    let list = positions.get(position);
    if (!list) {
      list = [];
      positions.set(position, list);
      groups.push({ duty: row.duty, situationCut: cut === '' ? null : cut, position, rows: list });
    }
    list.push(row);
  }
  return groups;
}
