import { distance } from 'fastest-levenshtein';
import type { PlayKind } from '../play.ts';
import type { SaidContext } from './context.ts';
import { plain, type Token } from './tokens.ts';
import { type Meaning, vocabulary } from './vocabulary.ts';

/** A meaning found at some place of the line, and how many tokens it took. */
type Found =
  | { readonly meaning: Meaning; readonly length: number }
  | { readonly oneOf: readonly string[]; readonly length: number };

interface Spelling {
  readonly text: string;
  readonly meaning: Meaning;
}

const spellings: readonly Spelling[] = vocabulary.flatMap((meaning) =>
  meaning.words.map((words) => ({ text: plain(words), meaning })),
);
const longest = Math.max(...spellings.map(({ text }) => text.split(' ').length));

const fits = ({ only }: Meaning, kind: PlayKind) => only === undefined || only.includes(kind);
const isUsual = ({ usualOn }: Meaning, kind: PlayKind) =>
  usualOn !== undefined && (usualOn === 'any' || usualOn.includes(kind));

/** The meaning that begins at `tokens[at]`: the longest that is written out, else what the beginning can only mean. */
export function meaningAt(tokens: readonly Token[], at: number, kind: PlayKind): Found | undefined {
  const phrases = phrasesAt(tokens, at);
  for (let length = phrases.length; length > 0; length--) {
    const typed = phrases[length - 1]!;
    const meaning = spellings.find((one) => one.text === typed && fits(one.meaning, kind))?.meaning;
    if (meaning) return { meaning, length: extended(meaning, phrases, length) };
  }
  let ambiguous: readonly string[] = [];
  for (let length = phrases.length; length > 0; length--) {
    const begun = [...new Set(begunBy(phrases[length - 1]!, kind))];
    const usual = begun.filter((meaning) => isUsual(meaning, kind));
    const only = begun.length === 1 ? begun[0] : usual.length === 1 ? usual[0] : undefined;
    if (only) return { meaning: only, length };
    if (begun.length > 1) {
      ambiguous = begun.map(({ words }) => words[0]!);
      return { oneOf: ambiguous, length };
    }
  }
  return undefined;
}

/** What people call a word that was not understood, the nearest first. */
export function nearestTo(text: string, kind: PlayKind, context: SaidContext): string[] {
  const typed = plain(text);
  const words = [
    ...vocabulary
      .filter((meaning) => fits(meaning, kind) && meaning.says !== '')
      .flatMap(({ words }) => words),
    ...context.teams.home,
    ...context.teams.visitor,
  ].filter((word) => word.length > 2);
  const off = (word: string) => {
    const whole = plain(word);
    const beginning = whole.slice(0, typed.length + 1);
    return Math.min(distance(typed, whole), distance(typed, beginning) + 0.5);
  };
  return [...new Set(words)]
    .map((word) => ({ word, far: off(word) }))
    .filter(({ far }) => far <= Math.max(1.5, typed.length / 2))
    .sort((a, b) => a.far - b.far)
    .slice(0, 3)
    .map(({ word }) => word);
}

/** Words that may be meant by a beginning, those said most first. */
export function wordsBegunBy(beginning: string, kind: PlayKind, context: SaidContext): string[] {
  const typed = plain(beginning.trim());
  if (typed === '') return [];
  const meanings = [...new Set(begunBy(typed, kind))].filter(({ says }) => says !== '');
  const usual = meanings.filter((meaning) => isUsual(meaning, kind));
  const teams = [...context.teams.home, ...context.teams.visitor].filter((name) =>
    plain(name).startsWith(typed),
  );
  const rest = meanings.filter((meaning) => !usual.includes(meaning));
  return [...new Set([...usual, ...rest].map(({ words }) => words[0]!).concat(teams))];
}

function begunBy(typed: string, kind: PlayKind): Meaning[] {
  return spellings
    .filter(({ text, meaning }) => text.startsWith(typed) && fits(meaning, kind))
    .map(({ meaning }) => meaning);
}

/** What is written from here on, one word, two words and so on, up to the first sign or number. */
function phrasesAt(tokens: readonly Token[], at: number): string[] {
  const phrases: string[] = [];
  let typed = '';
  for (let length = 0; length < longest; length++) {
    const token = tokens[at + length];
    if (token?.kind !== 'word') break;
    typed = typed === '' ? plain(token.text) : `${typed} ${plain(token.text)}`;
    phrases.push(typed);
  }
  return phrases;
}

/** `fair ca`: the words that go on with what was found belong to it. */
function extended(meaning: Meaning, phrases: readonly string[], found: number): number {
  let length = found;
  while (
    length < phrases.length &&
    meaning.words.some((words) => plain(words).startsWith(phrases[length]!) && plain(words).includes(' '))
  )
    length++;
  return length;
}
