import { clockInWords } from '../../football/clock-words.ts';
import { groupsOf } from '../../grading/group-by.ts';
import { errorsBesideLabels, type Form, type FormErrors, textOf } from '../../web/form.ts';
import { writtenSchema } from '../inquiry-schemas.ts';
import { categories } from '../rules/categories-and-rulings.ts';
import { type PlainPlay, plainPlayInWords, quarterInWords } from '../rules/which-play.ts';
import type { Inquiry } from '../stores/inquiry-store.ts';
import type { Written } from '../stores/write-store.ts';

/** What the form of an inquiry holds, as it was typed. */
export interface Asked {
  readonly playId: string;
  readonly quarter: string;
  readonly clock: string;
  readonly notInLog: boolean;
  readonly category: string;
  readonly film: string;
  readonly question: string;
}

export const askedIn = (form: Form): Asked => ({
  playId: textOf(form.playId),
  quarter: textOf(form.quarter),
  clock: textOf(form.clock),
  notInLog: textOf(form.notInLog) === 'yes',
  category: textOf(form.category),
  film: textOf(form.film),
  question: textOf(form.question),
});

export const askedOf = (inquiry: Inquiry): Asked => ({
  playId: inquiry.play?.playId ?? '',
  quarter: inquiry.play || inquiry.quarter === null ? '' : String(inquiry.quarter),
  clock: inquiry.play || inquiry.clockSeconds === null ? '' : clockInWords(inquiry.clockSeconds),
  notInLog: false,
  category: inquiry.category,
  film: inquiry.film,
  question: inquiry.question,
});

/** What was typed, to be kept; or what is wrong with it, by field. */
export function writtenFrom(
  gameId: string,
  asked: Asked,
): { written: Written; errors: null } | { written: null; errors: FormErrors } {
  const orNull = (text: string) => (text.trim() === '' ? null : text);
  const parsed = writtenSchema.safeParse({
    ...asked,
    gameId,
    playId: orNull(asked.playId),
    // A play that is chosen has its own.
    quarter: asked.playId === '' ? orNull(asked.quarter) : null,
    clock: asked.playId === '' ? orNull(asked.clock) : null,
    category: orNull(asked.category),
  });
  if (!parsed.success) return { written: null, errors: errorsBesideLabels(parsed.error) };
  const { clock: clockSeconds, ...rest } = parsed.data;
  return { written: { ...rest, clockSeconds }, errors: null };
}

/** The form's choices: plays by quarter, categories, quarters. */
export function askChoices(plays: readonly PlainPlay[], asked: Asked) {
  return {
    quarters: groupsOf(plays, ({ quarter }) => String(quarter)).map((own) => ({
      label: own[0]!.quarter === null ? 'Quarter not known' : quarterInWords(own[0]!.quarter),
      plays: own.map((play) => ({
        id: play.playId,
        words: plainPlayInWords(play),
        chosen: play.playId === asked.playId,
      })),
    })),
    categories: categories.map((category) => ({ category, chosen: category === asked.category })),
    quarterChoices: [1, 2, 3, 4, 5, 6].map((quarter) => ({
      value: String(quarter),
      label: quarterInWords(quarter),
      chosen: asked.quarter === String(quarter),
    })),
  };
}
