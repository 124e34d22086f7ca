import type { MixedModelFit, MixedModelResult } from './mixed-model.ts';
import type { NothingFound } from './model-rows.ts';
import { type SeasonFactor, seasonFactors } from './season-fit.ts';

type Words = Partial<Record<NothingFound['why'], string>>;

const ofEvenings: Words = {
  'one row each':
    "no official has two reports of one game, so nothing tells an official's evening from chance; nothing is put down to it",
  'no variation':
    'two reports of one evening are as far apart as any two of an official; nothing is put down to the evening',
};

const ofPositions: Words = {
  'one level':
    'with one observer, nothing tells whether they are stricter in some positions; nothing is adjusted for it',
  'one row each':
    'no observer saw a position twice, so nothing tells whether they are stricter in some positions; nothing is adjusted for it',
  'no variation': 'as far as can be told, each observer is as strict in one position as in another',
};

/** In plain words: which variances of the season model are 0 or could not be told apart, or why there is no fit. */
export function seasonNotes(result: MixedModelResult, grades: number, positions: number): string[] {
  if (!result.fitted) return [`no adjusted grades: ${whyNone(grades, positions, result.reason)}`];
  return notesInWords(result, { officialInGame: ofEvenings, observerInPosition: ofPositions });
}

/** The same of a fit of counts, which tells an evening from chance by a single report. */
export const countNotes = (fit: Fit): string[] => notesInWords(fit, { observerInPosition: ofPositions });

type Fit = Pick<MixedModelFit, 'notes' | 'factors'>;

function notesInWords({ notes, factors }: Fit, words: Partial<Record<SeasonFactor, Words>>): string[] {
  const said = new Map<string, string>();
  for (const [factor, ofFactor] of Object.entries(words)) {
    const found = factors.find(({ name }) => name === seasonFactors[factor as SeasonFactor])?.nothingFound;
    const inWords = found && ofFactor[found.why];
    if (inWords) said.set(found.note, inWords);
  }
  return notes.map((note) => said.get(note) ?? note);
}

/** The model's reason, in the words of the trade where it is a plain lack of grades. */
function whyNone(grades: number, positions: number, reason: string): string {
  if (grades === 0) return 'no report has a counted opportunity';
  if (grades > positions) return reason;
  const counted = (count: number, what: string) => (count === 1 ? `one ${what}` : `${count} ${what}s`);
  return `${counted(grades, 'game grade')} in ${counted(positions, 'position')} cannot tell skill from chance`;
}
