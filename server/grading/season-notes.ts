import { clipFactors } from './clip-marks.ts';
import type { MixedModelFit, MixedModelResult } from './mixed-model.ts';
import type { NothingFound } from './model-rows.ts';
import { type SeasonFactor, seasonFactors } from './season-fit.ts';

/** By why nothing was found of a factor; null where that says nothing to anybody but the model. */
export type FactorWords = Partial<Record<NothingFound['why'], string | null>>;

const ofPeople: Record<'official' | 'observer' | 'game', FactorWords> = {
  official: {
    'one row each':
      'each official has one grade only, so nothing tells skill from chance; all of a position are taken to be alike',
    'no variation': 'as far as can be told, officials of a position differ by no more than chance',
  },
  observer: {
    'one row each':
      'each observer gave one grade only, so nothing tells how strict they are; nothing is adjusted for it',
    'no variation': 'as far as can be told, all observers are as strict as each other over all positions',
  },
  game: {
    'one row each':
      'each game has one grade only, so nothing tells a hard game from chance; nothing is adjusted for it',
    'no variation': 'as far as can be told, no game was harder for everyone than another',
  },
};

const ofEvenings: FactorWords = {
  'one row each':
    "no official has two reports of one game, so nothing tells an official's evening from chance; nothing is put down to it",
  'no variation':
    'two reports of one evening are as far apart as any two of an official; nothing is put down to the evening',
};

const ofCountedEvenings: FactorWords = {
  'no variation': 'as far as can be told, officials differ from evening to evening by no more than chance',
};

const ofPositions: FactorWords = {
  'one level':
    'with one observer, nothing tells whether they are stricter in some positions; nothing is adjusted for it',
  'one row each':
    'no observer saw a position twice, so nothing tells whether they are stricter in some positions; nothing is adjusted for it',
  'no variation': 'as far as can be told, each observer is as strict in one position as in another',
};

/** In plain words: which variances of the season model are 0 or could not be told apart, or why there is no fit. */
export function seasonNotes(result: MixedModelResult, grades: number, positions: number): string[] {
  if (!result.fitted) return [`no adjusted grades: ${whyNone(grades, positions, result.reason)}`];
  return notesInWords(result, {
    ...ofEveryModel,
    [seasonFactors.officialInGame]: ofEvenings,
  });
}

/**
 * The same of a fit of counts, which tells an evening from chance by a single report.
 *
 * @param more words of factors that it has besides, by their names
 */
export const countNotes = (fit: Fit, more: Readonly<Record<string, FactorWords>>): string[] =>
  notesInWords(fit, { ...ofEveryModel, [seasonFactors.officialInGame]: ofCountedEvenings, ...more });

const ofEveryModel: Readonly<Record<string, FactorWords>> = {
  ...Object.fromEntries(
    Object.entries(ofPeople).map(([factor, words]) => [seasonFactors[factor as SeasonFactor], words]),
  ),
  [seasonFactors.observerInPosition]: ofPositions,
  [clipFactors.clip]: {
    'one level': null,
    'same as another': null,
    'no variation':
      'as far as can be told, nothing asked of a clip was judged more harshly by all than the rest',
  },
  [clipFactors.observerOnFilm]: {
    'one row each': null,
    'same as another': null,
    'no variation': 'as far as can be told, observers are as strict on film as at games',
  },
};

/** What a model says of its own search, and of all rows. */
const ofTheFit: Readonly<Record<string, string>> = {
  'every value is explained by the fixed effects alone: nothing is left to vary':
    'every report gives a position the same grade, so nothing tells officials or observers apart',
  'the search for the variances ended before it settled':
    'how much officials, observers and games differ could not be settled wholly; take intervals and ranks with care',
  'the effects explain the rows almost wholly: too few rows to tell chance':
    'there are too few grades to tell chance from what officials, observers and games add',
};

type Fit = Pick<MixedModelFit, 'notes' | 'factors'>;

function notesInWords({ notes, factors }: Fit, words: Readonly<Record<string, FactorWords>>): string[] {
  const said = new Map<string, string | null>(Object.entries(ofTheFit));
  for (const { name, nothingFound } of factors) {
    const inWords = nothingFound && words[name]?.[nothingFound.why];
    if (nothingFound && inWords !== undefined) said.set(nothingFound.note, inWords);
  }
  return notes.flatMap((note) => {
    const inWords = said.get(note);
    return inWords === null ? [] : [inWords ?? note];
  });
}

/** The model's reason, in the words of the trade where it is a plain lack of grades. */
function whyNone(grades: number, positions: number, reason: string): string {
  if (grades === 0) return 'no report has a counted opportunity';
  if (grades > positions) return reason;
  const counted = (count: number, what: string) => (count === 1 ? `one ${what}` : `${count} ${what}s`);
  return `${counted(grades, 'game grade')} in ${counted(positions, 'position')} cannot tell skill from chance`;
}
