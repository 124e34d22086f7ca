import type { FactsLine, FactsTyped } from '../facts.ts';

/** An official's facts as a row of the table has them: texts, empty where not known. */
export interface FactCells {
  readonly years: string;
  readonly fitness: string;
  readonly fitnessUntil: string;
  readonly rulesTest: string;
  readonly standing: string;
  readonly standingReason: string;
  readonly available: string;
  readonly daysAway: string;
  readonly lately: string;
  readonly ties: string;
}

const yesOrNo = (value: boolean | null) => (value === null ? '' : value ? 'yes' : 'no');
const list = (text: string) =>
  text
    .split(';')
    .map((part) => part.trim())
    .filter((part) => part !== '');

/** @param teams their names by id */
export const cellsOf = ({ facts, ties }: FactsLine, teams: ReadonlyMap<string, string>): FactCells => ({
  years: String(facts.yearsOfService ?? ''),
  fitness: yesOrNo(facts.fitnessPassed),
  fitnessUntil: facts.fitnessUntil ?? '',
  rulesTest: String(facts.rulesTestScore ?? ''),
  standing: yesOrNo(facts.goodStanding),
  standingReason: facts.standingReason,
  available: yesOrNo(facts.available),
  daysAway: facts.daysAway.join('; '),
  lately: String(facts.postseasonsLately ?? ''),
  ties: ties.map((id) => teams.get(id) ?? id).join('; '),
});

/** The facts that cells say, and by column what is no fact in them. */
export function factsFromCells(
  cells: FactCells,
  teams: ReadonlyMap<string, string>,
): { facts: Omit<FactsTyped, 'revision'>; errors: Map<keyof FactCells, string> } {
  const errors = new Map<keyof FactCells, string>();
  const numberIn = (column: keyof FactCells, what: string) => {
    if (cells[column] === '') return null;
    const value = Number(cells[column].replace(',', '.'));
    if (!Number.isNaN(value)) return value;
    errors.set(column, `Write ${what}, or nothing where it is not known.`);
    return null;
  };
  const answer = (text: string) => (text === '' ? null : text === 'yes');
  const byName = new Map([...teams].map(([id, name]) => [name.toLowerCase(), id]));
  const ties = list(cells.ties).flatMap((name) => {
    const id = byName.get(name.toLowerCase());
    if (id) return [id];
    errors.set('ties', `There is no team “${name}”. Write teams as they are called here, with ; between.`);
    return [];
  });
  return {
    facts: {
      yearsOfService: numberIn('years', 'a whole number of years'),
      fitnessPassed: answer(cells.fitness),
      fitnessUntil: cells.fitnessUntil || null,
      rulesTestScore: numberIn('rulesTest', 'a number of percent'),
      goodStanding: answer(cells.standing),
      standingReason: cells.standingReason,
      available: answer(cells.available),
      daysAway: list(cells.daysAway),
      postseasonsLately: numberIn('lately', 'a whole number of games'),
      ties,
    },
    errors,
  };
}
