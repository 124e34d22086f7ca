import { randomUUID } from 'node:crypto';
import type pg from 'pg';
import { findSession, startSession } from '../../server/accounts/session.ts';
import { confirmCrew } from '../../server/reports/filing/confirm-crew.ts';
import { openReport } from '../../server/reports/filing/open-report.ts';
import { everybodysDuty, type OneGame, oneGame } from '../reports/one-game.ts';

/** Stands in every text of the other conference; no request contains it, so no answer may. */
export const plantedWord = 'Zanzibarite';

/** A second conference with a report, whose every name and comment carries the planted word. */
export async function plantOther(pool: pg.Pool): Promise<OneGame> {
  const other = await oneGame(pool, 20);
  const { conferenceId, gameId, observerId } = other;
  const acting = { conferenceId, personId: observerId };
  const reportId = await openReport(pool, acting, { gameId, observerId });
  await confirmCrew(pool, acting, gameId);
  const [position, personId] = Object.entries(other.crew)[0]!;
  await pool.query(
    `INSERT INTO observation (conference_id, id, report_id, play_id, person_id, position, duty_key, finding, comment)
     VALUES ($1, $2, $3, $4, $5, $6, $7, 'missed', $8)`,
    [
      conferenceId,
      randomUUID(),
      reportId,
      other.playIds[0],
      personId,
      position,
      everybodysDuty.key,
      plantedWord,
    ],
  );
  for (const [table, column] of [
    ['person', 'family_name'],
    ['person', 'given_name'],
    ['team', 'name'],
    ['venue', 'name'],
    ['season', 'name'],
    ['crew', 'name'],
  ] as const) {
    const has = await pool.query(
      `SELECT FROM information_schema.columns WHERE table_schema = 'public' AND table_name = $1 AND column_name = $2`,
      [table, column],
    );
    if (has.rowCount) {
      await pool.query(`UPDATE ${table} SET ${column} = $2 || ' ' || ${column} WHERE conference_id = $1`, [
        conferenceId,
        plantedWord,
      ]);
    }
  }
  await pool.query('UPDATE conference SET name = $2 WHERE id = $1', [
    conferenceId,
    `Conference of ${plantedWord}`,
  ]);
  await pool.query("UPDATE person SET email = lower($2) || '.' || email WHERE conference_id = $1", [
    conferenceId,
    plantedWord,
  ]);
  return other;
}

/** Names of the tables whose rows belong to a conference, with whether rows have an id. */
async function tables(db: pg.Pool): Promise<Array<{ name: string; has_id: boolean }>> {
  const { rows } = await db.query(
    `SELECT c.table_name AS name,
            bool_or(c.column_name = 'id' AND c.data_type = 'uuid') AS has_id
       FROM information_schema.columns c JOIN information_schema.tables t USING (table_schema, table_name)
      WHERE c.table_schema = 'public' AND t.table_type = 'BASE TABLE'
      GROUP BY c.table_name HAVING bool_or(c.column_name = 'conference_id') ORDER BY c.table_name`,
  );
  return rows;
}

/** Ids of a conference's things, by table. */
export async function idsOf(db: pg.Pool, conferenceId: string): Promise<Map<string, string[]>> {
  const ids = new Map<string, string[]>([['conference', [conferenceId]]]);
  for (const { name, has_id } of await tables(db)) {
    if (!has_id) continue;
    const { rows } = await db.query<{ id: string }>(
      `SELECT id FROM ${name} WHERE conference_id = $1 LIMIT 40`,
      [conferenceId],
    );
    if (rows.length > 0)
      ids.set(
        name,
        rows.map((row) => row.id),
      );
  }
  return ids;
}

/** One sum for each table, over all that the conference has in it. */
export async function sumsOf(db: pg.Pool, conferenceId: string): Promise<Map<string, string>> {
  const sums = new Map<string, string>();
  for (const { name } of await tables(db)) {
    const { rows } = await db.query(
      `SELECT coalesce(md5(string_agg(t::text, '|' ORDER BY t::text)), '') AS sum FROM ${name} t WHERE conference_id = $1`,
      [conferenceId],
    );
    sums.set(name, rows[0].sum);
  }
  const { rows } = await db.query('SELECT md5(t::text) AS sum FROM conference t WHERE id = $1', [
    conferenceId,
  ]);
  sums.set('conference', rows[0]?.sum ?? 'gone');
  return sums;
}

export type Signed = { cookie: string; 'x-csrf-token': string };

/** A session as signing in would make it; undefined for a person whose account was ended. */
export async function session(
  pool: pg.Pool,
  conferenceId: string,
  personId: string,
): Promise<Signed | undefined> {
  const token = await startSession(pool, { conferenceId, personId });
  const found = await findSession(pool, token);
  if (found === null) return undefined;
  return { cookie: `crewmark_session=${token}`, 'x-csrf-token': found.session.csrfToken };
}
