import { v7 as uuidv7 } from 'uuid';
import type { Acting } from '../../accounts/acting.ts';
import type { Queryable } from '../../database/transaction.ts';
import { everybodyWatched } from '../../duties/watched.ts';
import { ReportNotFound } from '../refusals.ts';
import type { Mark } from './counted-material.ts';
import { requireOpen } from './held-report.ts';

/**
 * Opens the observer's report on a game, or finds the one that is there. Returns its id. From film everybody can be
 * watched, and is unless the observer says otherwise; in the stadium they have to say. `id`: one that the observer's
 * device made; not taken when another report has it (ReportNotFound).
 */
export async function openReport(
  client: Queryable,
  acting: Acting,
  of: { gameId: string; observerId: string; id?: string },
): Promise<string> {
  const { rows } = await client.query<{ id: string }>(
    `WITH opened AS (
       INSERT INTO report (conference_id, id, season_id, game_id, observer_id, created_at, watched)
       SELECT conference_id, $4, season_id, id, $3, $5,
              CASE WHEN EXISTS (SELECT FROM observer_assignment a
                                 WHERE a.conference_id = $1 AND a.game_id = $2 AND a.observer_id = $3
                                   AND a.how = 'in person') THEN NULL ELSE $6::jsonb END
         FROM game WHERE conference_id = $1 AND id = $2
       ON CONFLICT DO NOTHING RETURNING id)
     SELECT id FROM opened
      UNION ALL SELECT id FROM report WHERE conference_id = $1 AND game_id = $2 AND observer_id = $3
      LIMIT 1`,
    [
      acting.conferenceId,
      of.gameId,
      of.observerId,
      of.id ?? uuidv7(),
      acting.at ?? new Date(),
      JSON.stringify(everybodyWatched),
    ],
  );
  if (!rows[0]) throw new ReportNotFound();
  return rows[0].id;
}

/** Writes many marks of one open report at once (a loader's way; devices send changes, see `changes.ts`). */
export async function putMarks(
  client: Queryable,
  acting: Acting,
  reportId: string,
  marks: readonly (Omit<Mark, 'id' | 'consequence'> & Partial<Pick<Mark, 'id' | 'consequence'>>)[],
): Promise<void> {
  await requireOpen(client, acting, reportId);
  await client.query(
    `INSERT INTO observation (conference_id, id, report_id, play_id, person_id, position, duty_key, finding, comment,
                              consequence, created_at, updated_at)
     SELECT $1, id, $2, play_id, person_id, position, duty_key, finding, comment, consequence, $10, $10
       FROM unnest($3::uuid[], $4::uuid[], $5::uuid[], $6::text[], $7::text[], $8::text[], $9::text[], $11::text[])
         AS m (id, play_id, person_id, position, duty_key, finding, comment, consequence)
     ON CONFLICT (conference_id, id) DO UPDATE
       SET play_id = EXCLUDED.play_id, person_id = EXCLUDED.person_id, position = EXCLUDED.position,
           duty_key = EXCLUDED.duty_key, finding = EXCLUDED.finding, comment = EXCLUDED.comment,
           consequence = EXCLUDED.consequence, updated_at = EXCLUDED.updated_at,
           removed_at = NULL, version = observation.version + 1
       WHERE observation.report_id = EXCLUDED.report_id`,
    [
      acting.conferenceId,
      reportId,
      marks.map((mark) => mark.id ?? uuidv7()),
      marks.map((mark) => mark.playId),
      marks.map((mark) => mark.personId),
      marks.map((mark) => mark.position),
      marks.map((mark) => mark.dutyKey),
      marks.map((mark) => mark.finding),
      marks.map((mark) => mark.comment),
      acting.at ?? new Date(),
      marks.map((mark) => mark.consequence ?? null),
    ],
  );
}
