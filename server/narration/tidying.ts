import type { Queryable } from '../database/transaction.ts';
import type { RecordingFiles } from './recording-files.ts';

/** A recording that nothing names any more stays so long, so that taking it off can be taken back. */
const daysAfterLettingGo = 7;

/**
 * Whether anything still needs the recording of the row `n`: how its play is cut, how it was before the program's last
 * change, an edition, a reel that is not made yet.
 */
const isNamed = (() => {
  const names = (json: string) =>
    `jsonb_path_exists(${json}, '$.**.recordingId ? (@ == $id)', jsonb_build_object('id', n.id::text))`;
  const of = (alias: string) =>
    `${alias}.conference_id = n.conference_id AND ${alias}.program_id = n.program_id`;
  return `(EXISTS (SELECT FROM training_cut c WHERE ${of('c')} AND ${names('c.cut')})
    OR EXISTS (SELECT FROM training_program g WHERE g.conference_id = n.conference_id AND g.id = n.program_id
                  AND ${names('g.before_last')})
    OR EXISTS (SELECT FROM training_edition e WHERE ${of('e')} AND ${names('e.cuts')})
    OR EXISTS (SELECT FROM reel r WHERE ${of('r')} AND r.state = 'waiting' AND ${names('r.plan')}))`;
})();

/**
 * Lets go of recordings that nothing names, removes those that were let go of long ago, and files of those that are gone:
 * with their program, or because their speaker's data was erased.
 */
export async function tidyRecordings(db: Queryable, files: RecordingFiles): Promise<void> {
  const { rows: conferences } = await db.query<{ id: string }>('SELECT id FROM conference');
  for (const { id: conferenceId } of conferences) {
    await db.query(
      `UPDATE narration n SET let_go_at = CASE WHEN let_go_at IS NULL THEN now() END
        WHERE conference_id = $1 AND ${isNamed} = (let_go_at IS NOT NULL)`,
      [conferenceId],
    );
    await db.query(
      `DELETE FROM narration n WHERE conference_id = $1 AND let_go_at < now() - make_interval(days => $2)
          AND NOT ${isNamed}`,
      [conferenceId, daysAfterLettingGo],
    );
    const { rows } = await db.query<{ id: string }>('SELECT id FROM narration WHERE conference_id = $1', [
      conferenceId,
    ]);
    await files.sweep(conferenceId, new Set(rows.map(({ id }) => id)));
  }
}
