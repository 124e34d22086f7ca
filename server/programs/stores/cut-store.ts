import type { PersonActing } from '../../accounts/acting.ts';
import type { Queryable } from '../../database/transaction.ts';
import type { Cut } from '../../timeline/cut.ts';
import type { Program } from '../program.ts';

/** How a play is cut; `version` is raised by each change. */
export interface KeptCut {
  readonly cut: Cut;
  readonly version: number;
}

/** How the plays of a program are cut, by play; those that nobody cut yet are not there. */
export async function readCuts(
  db: Queryable,
  conferenceId: string,
  programId: string,
): Promise<Map<string, KeptCut>> {
  const { rows } = await db.query<KeptCut & { playId: string }>(
    `SELECT play_id AS "playId", cut, version FROM training_cut WHERE conference_id = $1 AND program_id = $2`,
    [conferenceId, programId],
  );
  return new Map(rows.map(({ playId, ...kept }) => [playId, kept]));
}

/** With who cut it last, and when. */
export interface CutBy extends KeptCut {
  readonly changedBy: string | null;
  readonly changedAt: Date;
}

/** Undefined while nobody cut it. */
export async function readCut(
  db: Queryable,
  conferenceId: string,
  programId: string,
  playId: string,
): Promise<CutBy | undefined> {
  const { rows } = await db.query<CutBy>(
    `SELECT t.cut, t.version, p.given_name || ' ' || p.family_name AS "changedBy", t.changed_at AS "changedAt"
       FROM training_cut t LEFT JOIN person p ON p.conference_id = t.conference_id AND p.id = t.changed_by
      WHERE t.conference_id = $1 AND t.program_id = $2 AND t.play_id = $3`,
    [conferenceId, programId, playId],
  );
  return rows[0];
}

/** How a play was cut; null: nobody had. */
export interface CutBefore {
  readonly playId: string;
  readonly cut: Cut | null;
}

/**
 * Makes a play's cut this one, or none; within a change of the program, whose lock it relies on.
 * @returns what it was
 */
export async function writeCut(
  client: Queryable,
  { conferenceId, personId }: PersonActing,
  { id, version }: Pick<Program, 'id' | 'version'>,
  { playId, cut }: CutBefore,
): Promise<CutBefore> {
  const before = (await readCut(client, conferenceId, id, playId))?.cut ?? null;
  if (cut === null) {
    await client.query(
      'DELETE FROM training_cut WHERE conference_id = $1 AND program_id = $2 AND play_id = $3',
      [conferenceId, id, playId],
    );
  } else {
    // The program's next version: above every one that a cut of it ever had, also one that was given up since.
    await client.query(
      `INSERT INTO training_cut (conference_id, program_id, play_id, cut, version, changed_by)
       VALUES ($1, $2, $3, $4, $5, $6)
       ON CONFLICT (conference_id, program_id, play_id)
       DO UPDATE SET cut = excluded.cut, version = excluded.version, changed_by = excluded.changed_by, changed_at = now()`,
      [conferenceId, id, playId, JSON.stringify(cut), version + 1, personId],
    );
  }
  return { playId, cut: before };
}
