import type { Database } from '../database/database.ts';
import type { Verdict } from '../patterns/follow-up/follow-up.ts';
import { namedPatterns } from '../results/patterns/named-patterns.ts';
import type { SeasonResults } from '../results/season-results.ts';
import { readProgramOutcome } from './program-outcome.ts';

/** A duty that the next program may be about, and what speaks for it. */
interface NextTopic {
  readonly dutyKey: string;
  readonly title: string;
  readonly guidance: string;
  readonly misses: number;
  readonly opportunities: number;
  readonly missRate: number;
  readonly cost: number;
  /** Questions on it of which half of those who answered, or more, were wrong. */
  readonly wrongQuestions: readonly string[];
  /** Programs of the season that taught it, with what came of it. */
  readonly taught: readonly {
    readonly programId: string;
    readonly program: string;
    readonly verdict: Verdict;
  }[];
}

const topicsShown = 15;

/**
 * What to teach next: the costliest duties of the season, as the training topics have them, each with what came of the
 * programs that taught it; and duties on which half of the staff answered a question wrongly.
 */
export async function readNextTopics(
  database: Database,
  results: SeasonResults,
  session: { readonly conferenceId: string; readonly timeZone: string },
  seasonId: string,
): Promise<NextTopic[]> {
  const found = await namedPatterns(database, results, session.conferenceId, seasonId);
  const taught = new Map<string, NextTopic['taught'][number][]>();
  const wrong = new Map<string, string[]>();
  const { rows: programs } = await database.pool.query<{ id: string; title: string }>(
    `SELECT p.id, p.title FROM training_program p
      WHERE p.conference_id = $1 AND p.season_id = $2 AND EXISTS (SELECT FROM training_edition e
        WHERE e.conference_id = p.conference_id AND e.program_id = p.id) ORDER BY p.title, p.id`,
    [session.conferenceId, seasonId],
  );
  for (const { id, title } of programs) {
    const { duties, questions } = await readProgramOutcome(database.pool, session, id);
    for (const { duty, question, halfWrong } of questions?.questions ?? [])
      if (halfWrong && duty !== null) wrong.set(duty, [...(wrong.get(duty) ?? []), question]);
    for (const { key, followUp } of duties)
      taught.set(key, [
        ...(taught.get(key) ?? []),
        { programId: id, program: title, verdict: followUp.verdict },
      ]);
  }
  return found.conference
    .filter(({ misses, title }, at) => (misses > 0 && at < topicsShown) || wrong.has(title))
    .map(({ duty, title, guidance, misses, opportunities, missRate, cost }) => ({
      dutyKey: duty,
      title,
      guidance,
      misses,
      opportunities,
      missRate,
      cost,
      wrongQuestions: wrong.get(title) ?? [],
      taught: taught.get(duty) ?? [],
    }));
}
