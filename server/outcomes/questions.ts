import type { Queryable } from '../database/transaction.ts';
import {
  type Answers,
  analyseItems,
  fewQuestions,
  halfWrong,
  type ItemFound,
  type TestFound,
} from '../measurement/item-analysis.ts';
import { readEdition } from '../programs/stores/edition-store.ts';

/** A question of a program's newest edition, with what was answered. */
export interface QuestionFound extends ItemFound {
  /** Number of its play in the edition. */
  readonly play: number;
  readonly question: string;
  readonly topic: string;
  /** Title of the duty that its play shows; null where it shows none. */
  readonly duty: string | null;
  readonly choices: readonly { readonly text: string; readonly right: boolean; readonly taken: number }[];
  /** Half of those who answered, or more, were wrong. */
  readonly halfWrong: boolean;
}

export interface QuestionsFound {
  readonly edition: number;
  readonly questions: readonly QuestionFound[];
  readonly complete: number;
  readonly reliability: TestFound['reliability'];
  /** Too few questions for `reliability` to say much. */
  readonly few: boolean;
}

/**
 * The questions of a program's newest edition, as first answered. Nobody's own answers are in it.
 *
 * @returns null where nothing was released, or there is no question
 */
export async function readQuestions(
  db: Queryable,
  conferenceId: string,
  programId: string,
): Promise<QuestionsFound | null> {
  const { rows: newest } = await db.query<{ number: number | null }>(
    'SELECT max(number) AS number FROM training_edition WHERE conference_id = $1 AND program_id = $2',
    [conferenceId, programId],
  );
  const edition = newest[0]?.number;
  if (!edition) return null;
  const { content } = await readEdition(db, conferenceId, programId, edition);
  const asked = content.plays.filter(({ question, choices }) => question !== '' && choices.length > 0);
  if (asked.length === 0) return null;
  const { rows } = await db.query<{ personId: string; play: number; choice: number; right: boolean }>(
    `SELECT person_id AS "personId", play_number AS play, choice, is_right AS right FROM training_answer
      WHERE conference_id = $1 AND program_id = $2 AND edition_number = $3 ORDER BY person_id`,
    [conferenceId, programId, edition],
  );
  const people = new Map<string, Map<number, Answers[number]>>();
  for (const { personId, play, choice, right } of rows)
    people.set(personId, (people.get(personId) ?? new Map()).set(play, { chosen: [choice], right }));
  const { items, complete, reliability } = analyseItems(
    [...people.values()].map((answers) => asked.map(({ number }) => answers.get(number) ?? null)),
    asked.map(({ choices }) => choices.length),
  );
  return {
    edition,
    complete,
    reliability,
    few: asked.length < fewQuestions,
    questions: asked.map(({ number, question, topic, duty, choices }, at) => ({
      ...items[at]!,
      play: number,
      question,
      topic,
      duty: duty?.title ?? null,
      choices: choices.map((choice, i) => ({ ...choice, taken: items[at]!.taken[i]! })),
      halfWrong: halfWrong(items[at]!),
    })),
  };
}
