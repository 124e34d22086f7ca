import type pg from 'pg';
import type { PersonInZone } from '../accounts/acting.ts';
import { appendAudit } from '../accounts/audit/audit.ts';
import { inTransaction } from '../database/transaction.ts';
import { latestAnswerDay, openAnswersUntil } from '../reports/answer-time.ts';
import { dayIn } from '../web/today.ts';
import type { LetterKind } from './letter-data.ts';
import { outOfDate, seasonNow } from './letter-lines.ts';
import { tellOfLetter } from './letter-messages.ts';

interface Release {
  seasonId: string;
  kind: LetterKind;
  /** Only these letters; null: all drafts of the kind. */
  letterIds: readonly string[] | null;
  /** Send by mail as well: with the letter attached, or a link to sign in. */
  mail: 'no' | 'link' | 'attached';
}

/**
 * Gives letters to their officials: from here on they are final, and each official may answer until the day their
 * letter names. Left as drafts are those made before the newest released report, other settings or an upgrade that
 * computes otherwise, since their figures are no longer the season's, and those whose day has passed or is no longer
 * the one that holds.
 * @returns how many were released, and how many drafts were left for either reason.
 */
export async function releaseLetters(
  pool: pg.Pool,
  who: PersonInZone,
  { seasonId, kind, letterIds, mail }: Release,
): Promise<{ released: number; outOfDate: number; otherDay: number }> {
  return inTransaction(pool, async (client) => {
    const { rows } = await client.query<{
      id: string;
      personId: string;
      edition: number;
      seasonName: string;
      sha256: string;
      current: boolean;
      answerBy: string | null;
    }>(
      `WITH ${seasonNow}
       SELECT l.id, l.person_id AS "personId", l.edition, s.name AS "seasonName", l.sha256, NOT ${outOfDate} AS current,
              l.data -> 'reply' ->> 'by' AS "answerBy"
         FROM letter l JOIN season_now s ON s.conference_id = l.conference_id AND s.id = l.season_id
        WHERE l.conference_id = $1 AND l.season_id = $2 AND l.kind = $3 AND l.released_at IS NULL
          AND ($4::uuid[] IS NULL OR l.id = ANY ($4))
        ORDER BY l.id FOR UPDATE OF l`,
      [who.conferenceId, seasonId, kind, letterIds],
    );
    const today = dayIn(who.timeZone);
    const current: typeof rows = [];
    let otherDay = 0;
    for (const row of rows.filter((one) => one.current)) {
      const official = { conferenceId: who.conferenceId, seasonId, personId: row.personId };
      const holds = await latestAnswerDay(client, official);
      if (row.answerBy !== null && (row.answerBy < today || (holds !== null && holds > row.answerBy))) {
        otherDay += 1;
        continue;
      }
      if (row.answerBy !== null) await openAnswersUntil(client, official, row.answerBy);
      current.push(row);
    }
    const ids = current.map((row) => row.id);
    await client.query('UPDATE letter SET released_at = now() WHERE conference_id = $1 AND id = ANY ($2)', [
      who.conferenceId,
      ids,
    ]);
    for (const { id, personId, edition, seasonName } of current)
      await tellOfLetter(client, who.conferenceId, {
        letterId: id,
        personId,
        kind,
        edition,
        seasonName,
        mail,
      });
    for (const { id, personId, edition, sha256, answerBy } of current)
      await appendAudit(client, {
        conferenceId: who.conferenceId,
        actorId: who.personId,
        action: 'released',
        subjectKind: 'letter',
        subjectId: id,
        after: { personId, kind, edition, sha256, mail, answerBy },
      });
    return {
      released: current.length,
      outOfDate: rows.filter((row) => !row.current).length,
      otherDay,
    };
  });
}
