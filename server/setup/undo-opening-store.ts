import type { Acting } from '../accounts/acting.ts';
import { appendAudit } from '../accounts/audit/audit.ts';
import type { Queryable } from '../database/transaction.ts';
import { lockSeason } from '../schedule/season-lock.ts';
import { conflict } from '../web/problem.ts';

type Undoing = {
  crews: number;
  games: number;
  plays: number;
  told: number;
  programs: number;
  sets: number;
  selections: number;
  facts: number;
  quizzes: number;
  clinics: number;
};

// Of season $2 of conference $1: the one that becomes current in its place.
const currentInstead = `(
  SELECT s.id FROM season s LEFT JOIN season o ON o.conference_id = s.conference_id AND o.id = $2
   WHERE s.conference_id = $1 AND s.id <> $2
   ORDER BY s.id IS NOT DISTINCT FROM o.opened_from_id DESC, s.created_at DESC LIMIT 1)`;

/** The name of the season that becomes the current one when this one goes; null when it is not the current one or the only one. */
export async function currentAfterUndoing(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
): Promise<string | null> {
  const { rows } = await db.query<{ name: string }>(
    `SELECT n.name FROM conference c JOIN season n ON n.conference_id = c.id AND n.id = ${currentInstead}
      WHERE c.id = $1 AND c.current_season_id = $2`,
    [conferenceId, seasonId],
  );
  return rows[0]?.name ?? null;
}

/** What goes with a season whose opening is undone. */
export async function readUndoing(db: Queryable, conferenceId: string, seasonId: string): Promise<Undoing> {
  const { rows } = await db.query<Undoing>(
    `SELECT (SELECT count(*)::int FROM crew WHERE conference_id = $1 AND season_id = $2) AS crews,
            (SELECT count(*)::int FROM game WHERE conference_id = $1 AND season_id = $2) AS games,
            (SELECT count(*)::int FROM play p
               JOIN game g ON g.conference_id = p.conference_id AND g.id = p.game_id
              WHERE p.conference_id = $1 AND g.season_id = $2) AS plays,
            (SELECT count(*)::int FROM observer_assignment a
               JOIN game g ON g.conference_id = a.conference_id AND g.id = a.game_id
              WHERE a.conference_id = $1 AND g.season_id = $2 AND a.answer <> 'declined') AS told,
            (SELECT count(*)::int FROM training_program WHERE conference_id = $1 AND season_id = $2) AS programs,
            (SELECT count(*)::int FROM calibration_set WHERE conference_id = $1 AND season_id = $2) AS sets,
            (SELECT count(*)::int FROM selection WHERE conference_id = $1 AND season_id = $2) AS selections,
            (SELECT count(*)::int FROM official_fact WHERE conference_id = $1 AND season_id = $2) AS facts,
            (SELECT count(*)::int FROM quiz WHERE conference_id = $1 AND season_id = $2) AS quizzes,
            (SELECT count(*)::int FROM clinic WHERE conference_id = $1 AND season_id = $2) AS clinics`,
    [conferenceId, seasonId],
  );
  return rows[0]!;
}

/**
 * Takes back the opening of a season, with all that was prepared in it. People stay.
 * @throws Problem 409 once it was started, or people outside the office have something in it: a report, a released training
 * program, a film, an inquiry, clips to mark, a vote.
 */
export async function undoOpening(client: Queryable, acting: Acting, seasonId: string): Promise<void> {
  const { conferenceId } = acting;
  const season = await lockSeason(client, conferenceId, seasonId);
  const here = [conferenceId, seasonId];
  for (const { found, says } of standInTheWay) {
    const { rowCount } = await client.query(`${found} LIMIT 1`, here);
    if (rowCount !== 0) throw conflict(`Season ${season.name} has ${says}`);
  }
  if (season.state !== 'open') throw conflict(`Season ${season.name} was started, ${tooLate}`);
  const gone = await readUndoing(client, conferenceId, seasonId);
  // Taken back before they go, so that their observers are told.
  await client.query(
    `UPDATE observer_assignment a SET answer = 'declined', withdrawn_at = now() FROM game g
      WHERE a.conference_id = $1 AND a.answer <> 'declined' AND g.conference_id = $1 AND g.id = a.game_id
        AND g.season_id = $2`,
    here,
  );
  await client.query(
    `UPDATE conference SET current_season_id = ${currentInstead} WHERE id = $1 AND current_season_id = $2`,
    here,
  );
  for (const table of preparedInASeason)
    await client.query(`DELETE FROM ${table} WHERE conference_id = $1 AND season_id = $2`, here);
  await client.query('UPDATE session SET season_id = NULL WHERE conference_id = $1 AND season_id = $2', here);
  await client.query(
    'UPDATE season SET opened_from_id = NULL WHERE conference_id = $1 AND opened_from_id = $2',
    here,
  );
  await client.query('DELETE FROM season WHERE conference_id = $1 AND id = $2', here);
  await appendAudit(client, {
    conferenceId,
    actorId: acting.personId,
    action: 'undid the opening of the season',
    subjectKind: 'season',
    subjectId: seasonId,
    before: { name: season.name, ...gone },
  });
}

/** Tables without a cascade from the season, those that others refer to last. */
const preparedInASeason = [
  'development_point',
  'calibration_set',
  'selection',
  'official_fact',
  'clinic',
  'quiz',
  'quiz_weight',
  'training_program',
  'letter',
  'game',
  'crew',
  'rubric_version',
];

const tooLate = 'so its opening cannot be undone any more.';

/** What an opening is not undone over, of season $2 of conference $1. */
const standInTheWay = [
  {
    found: 'SELECT FROM report WHERE conference_id = $1 AND season_id = $2',
    says: `reports, ${tooLate}`,
  },
  {
    found: `SELECT FROM training_edition e
              JOIN training_program p ON p.conference_id = e.conference_id AND p.id = e.program_id
             WHERE p.conference_id = $1 AND p.season_id = $2`,
    says: `a released training program, ${tooLate}`,
  },
  {
    found: 'SELECT FROM inquiry WHERE conference_id = $1 AND season_id = $2',
    says: `an inquiry of a team, ${tooLate}`,
  },
  {
    found: `SELECT FROM calibration_set WHERE conference_id = $1 AND season_id = $2 AND state <> 'draft'`,
    says: `clips that observers were asked to mark, ${tooLate}`,
  },
  {
    found: `SELECT FROM selection WHERE conference_id = $1 AND season_id = $2 AND state <> 'preparing'`,
    says: `a selection that was put to the vote, ${tooLate}`,
  },
  {
    found: 'SELECT FROM quiz WHERE conference_id = $1 AND season_id = $2 AND announced_at IS NOT NULL',
    says: `a quiz that was announced, ${tooLate}`,
  },
  {
    found:
      'SELECT FROM clinic_attendance WHERE conference_id = $1 AND season_id = $2 AND noted_at IS NOT NULL',
    says: `a clinic at which it was noted who was there, ${tooLate}`,
  },
  {
    // Of a season that was started, removing them would not help.
    found: `SELECT FROM film f JOIN season s ON s.conference_id = f.conference_id AND s.id = $2 AND s.state = 'open'
              JOIN game g ON g.conference_id = f.conference_id AND g.id = f.game_id
             WHERE f.conference_id = $1 AND g.season_id = $2`,
    says: "films of its games; remove them from the games' pages before its opening is undone.",
  },
] as const;
