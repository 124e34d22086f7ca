import type { Acting } from '../accounts/acting.ts';
import { appendAudit } from '../accounts/audit/audit.ts';
import type { Queryable } from '../database/transaction.ts';
import { startingConsequenceWeights } from '../duties/consequence.ts';
import { startingRubricFor } from '../duties/starting-rubric.ts';
import type { Code } from '../football/codes.ts';
import { usualPractices } from '../football/practices.ts';
import { readRubric } from './read-rubric.ts';
import { RubricChangeRefused } from './refusals.ts';
import { insertDuties, insertVersion, lockCurrentVersion } from './versions.ts';

/** Where a season's first rubric comes from: the starting one, or that of another season. */
type RubricSource = 'starting' | { readonly seasonId: string };

/**
 * Gives a season its first rubric: a copy of the starting one, or of another season's as it is now. A season that has
 * a rubric keeps it. @returns the current version's id.
 * @throws RubricChangeRefused when the other season has no rubric.
 */
export async function startRubric(
  client: Queryable,
  { conferenceId, personId }: Acting,
  seasonId: string,
  from: RubricSource = 'starting',
): Promise<string> {
  const current = await lockCurrentVersion(client, conferenceId, seasonId);
  if (current !== undefined) return current.id;
  const { duties, note, code, practices, consequenceWeights } = await firstRubric(client, conferenceId, from);
  const id = await insertVersion(client, { conferenceId, personId }, seasonId, {
    number: 1,
    note,
    code,
    practices,
    consequenceWeights,
  });
  await insertDuties(client, conferenceId, id, duties);
  await appendAudit(client, {
    conferenceId,
    actorId: personId,
    action: 'began the rubric',
    subjectKind: 'season',
    subjectId: seasonId,
    after: { from: from === 'starting' ? 'the starting rubric' : from.seasonId, code, duties: duties.length },
  });
  return id;
}

async function firstRubric(client: Queryable, conferenceId: string, from: RubricSource) {
  if (from === 'starting') {
    const code = await codeOfConference(client, conferenceId);
    return {
      duties: startingRubricFor(code),
      note: 'First rubric of the season',
      code,
      practices: usualPractices,
      consequenceWeights: startingConsequenceWeights,
    };
  }
  const rubric = await readRubric(client, conferenceId, from.seasonId);
  if (rubric === undefined) {
    throw new RubricChangeRefused([{ field: 'from', reason: 'that season has no rubric to take over' }]);
  }
  const { rows } = await client.query<{ name: string }>(
    'SELECT name FROM season WHERE conference_id = $1 AND id = $2',
    [conferenceId, from.seasonId],
  );
  const { duties, code, practices, consequenceWeights } = rubric;
  return { duties, note: `Taken over from ${rows[0]!.name}`, code, practices, consequenceWeights };
}

/** The rules book that the conference says it plays by. */
export async function codeOfConference(client: Queryable, conferenceId: string): Promise<Code> {
  const { rows } = await client.query<{ code: Code }>('SELECT code FROM conference WHERE id = $1', [
    conferenceId,
  ]);
  return rows[0]!.code;
}
