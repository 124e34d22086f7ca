import type { Queryable } from '../database/transaction.ts';
import { noteSeal, type Seal, sealNow } from '../reports/filing/report-seal.ts';
import { handedIn } from '../schedule/open-states.ts';

interface Compared {
  /** Reports compared with what the trail says of them. */
  reports: number;
  /** Marks of filed reports compared, one by one. */
  marks: number;
  /** Filed reports of which the trail holds no marks yet. */
  unsealed: string[];
  faults: string[];
}

interface Noted {
  id: string;
  state: string | null;
  name: string | null;
  noted: string | null;
  sealed: Seal | null;
}

/** Holds the present state and marks of every report against what the trail says of them. */
export async function compareReports(db: Queryable, conferenceId: string): Promise<Compared> {
  const { rows } = await db.query<Noted>(
    `WITH told AS (
       SELECT subject_id AS id,
              (array_agg(after->>'state' ORDER BY number DESC) FILTER (WHERE after ? 'state'))[1] AS noted,
              (array_agg(after->'sealed' ORDER BY number DESC) FILTER (WHERE after ? 'sealed'))[1] AS sealed
         FROM audit_entry
        WHERE conference_id = $1 AND subject_kind = 'report' AND jsonb_typeof(after) = 'object'
        GROUP BY subject_id),
     present AS (
       SELECT r.id::text AS id, r.state, g.key || ' by ' || p.given_name || ' ' || p.family_name AS name
         FROM report r JOIN game g ON g.conference_id = r.conference_id AND g.id = r.game_id
         JOIN person p ON p.conference_id = r.conference_id AND p.id = r.observer_id
        WHERE r.conference_id = $1)
     SELECT COALESCE(n.id, t.id) AS id, n.state, n.name, t.noted, t.sealed
       FROM present n FULL JOIN told t ON t.id = n.id
      WHERE n.id IS NOT NULL OR t.noted IS NOT NULL ORDER BY n.name, 1`,
    [conferenceId],
  );
  const found: Compared = { reports: rows.length, marks: 0, unsealed: [], faults: [] };
  for (const row of rows) await compareOne(db, conferenceId, row, found);
  return found;
}

async function compareOne(db: Queryable, conferenceId: string, row: Noted, found: Compared): Promise<void> {
  const { id, state, name, noted, sealed } = row;
  if (state === null) {
    found.faults.push(`the report ${id}, ${noted} by the trail, is gone`);
    return;
  }
  if (state !== (noted ?? 'draft')) {
    found.faults.push(`the report on ${name} is ${state}; by the trail it is ${noted ?? 'a draft'}`);
  }
  if (!handedIn.includes(state)) return;
  if (sealed === null) {
    found.unsealed.push(id);
    return;
  }
  const now = await sealNow(db, conferenceId, id);
  if (now.comment !== sealed.comment) {
    found.faults.push(`the general comment of the report on ${name} is not what the trail holds`);
  }
  const ids = [...new Set([...Object.keys(sealed.marks), ...Object.keys(now.marks)])].sort();
  found.marks += ids.length;
  const wrong = ids.filter((mark) => sealed.marks[mark] !== now.marks[mark]);
  if (wrong.length === 0) return;
  const names = await namesOfMarks(db, conferenceId, wrong);
  for (const mark of wrong) {
    const what =
      now.marks[mark] === undefined
        ? 'is gone'
        : sealed.marks[mark] === undefined
          ? 'was added'
          : 'was changed';
    found.faults.push(
      `the mark on ${names.get(mark) ?? `(${mark})`} in the report on ${name} ${what} without an entry in the trail`,
    );
  }
}

async function namesOfMarks(db: Queryable, conferenceId: string, ids: readonly string[]) {
  const { rows } = await db.query<{ id: string; name: string }>(
    `SELECT o.id::text AS id, 'play ' || l.number || ', ' || o.position || ', ' || o.duty_key AS name
       FROM observation o JOIN play l ON l.conference_id = o.conference_id AND l.id = o.play_id
      WHERE o.conference_id = $1 AND o.id = ANY ($2::uuid[])`,
    [conferenceId, ids],
  );
  return new Map(rows.map(({ id, name }) => [id, name]));
}

/** Notes the marks of reports that were filed before marks were noted, as they are now. */
export async function noteUnsealed(client: Queryable, conferenceId: string): Promise<number> {
  const { unsealed } = await compareReports(client, conferenceId);
  for (const id of unsealed) await noteSeal(client, { conferenceId, personId: null }, id, []);
  return unsealed.length;
}
