import type { Queryable } from '../../database/transaction.ts';
import type { AuditNames } from './audit-changes.ts';

/** One entry of the audit trail as it is read on a page. */
export interface TrailEntry {
  readonly number: number;
  readonly at: Date;
  /** Who acted, and by which token if by one; the program's own name when nobody did. */
  readonly actor: string;
  readonly action: string;
  readonly subjectKind: string;
  readonly subjectId: string;
  readonly reason: string | null;
  readonly before: unknown;
  readonly after: unknown;
}

/** Digests by which the trail is verified: they say nothing to people. */
const notShown = `'{sealed,wordsTakenAway}'::text[]`;

export const trailEntries = `
  SELECT e.number::int, e.at, COALESCE(p.given_name || ' ' || p.family_name, 'Crewmark')
           || COALESCE(' (token ' || (e.token ->> 'name') || ')', '') AS actor, e.action,
         e.subject_kind AS "subjectKind", e.subject_id AS "subjectId", e.reason, e.before,
         CASE WHEN jsonb_typeof(e.after) = 'object' THEN e.after - ${notShown} ELSE e.after END AS after
    FROM audit_entry e LEFT JOIN person p ON p.conference_id = e.conference_id AND p.id = e.actor_id`;

/** Entries of a conference's trail, newest first, of those numbered below `below`. */
export async function newestEntries(
  db: Queryable,
  conferenceId: string,
  { below, most }: { below?: number; most: number },
): Promise<TrailEntry[]> {
  const { rows } = await db.query<TrailEntry>(
    `${trailEntries} WHERE e.conference_id = $1 AND ($2::int IS NULL OR e.number < $2) ORDER BY e.number DESC LIMIT $3`,
    [conferenceId, below ?? null, most],
  );
  return rows;
}

/** Names of what entries mention, and where it can be looked at. */
export interface Mentioned {
  readonly names: AuditNames;
  readonly places: ReadonlyMap<string, string>;
}

const uuids = /[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}/g;

/** Looks up what entries mention by id: people, games, plays, reports, marks, replies and mappings; and duties by their key. */
export async function mentionedIn(
  db: Queryable,
  conferenceId: string,
  entries: readonly TrailEntry[],
): Promise<Mentioned> {
  const ids = new Set(JSON.stringify(entries).match(uuids));
  const { rows } = await db.query<{ id: string; name: string; place: string | null }>(
    `WITH titled AS (
       SELECT game_id AS id, title FROM game_teams WHERE conference_id = $1)
     SELECT id::text, given_name || ' ' || family_name AS name, '/people/' || id AS place
       FROM person WHERE conference_id = $1 AND id = ANY ($2::uuid[])
      UNION ALL SELECT id::text, title, '/games/' || id FROM titled WHERE id = ANY ($2::uuid[])
      UNION ALL SELECT id::text, name, '/seasons/' || id FROM season WHERE conference_id = $1 AND id = ANY ($2::uuid[])
      UNION ALL SELECT l.id::text, 'play ' || l.number,
            CASE WHEN l.removed_at IS NULL THEN '/games/' || l.game_id || '/plays/' || l.id || '/duties' END
       FROM play l WHERE l.conference_id = $1 AND l.id = ANY ($2::uuid[])
      UNION ALL SELECT r.id::text, t.title || ', by ' || p.given_name || ' ' || p.family_name, '/reports/' || r.id
       FROM report r JOIN titled t ON t.id = r.game_id
       JOIN person p ON p.conference_id = $1 AND p.id = r.observer_id
      WHERE r.conference_id = $1 AND r.id = ANY ($2::uuid[])
      UNION ALL SELECT o.id::text, 'play ' || l.number || ', ' || o.position, '/reports/' || o.report_id
       FROM observation o JOIN play l ON l.conference_id = $1 AND l.id = o.play_id
      WHERE o.conference_id = $1 AND o.id = ANY ($2::uuid[])
      UNION ALL SELECT y.id::text, 'play ' || l.number || ', ' || o.position, '/replies/' || y.id
       FROM reply y JOIN observation o ON o.conference_id = $1 AND o.id = y.observation_id
       JOIN play l ON l.conference_id = $1 AND l.id = o.play_id
      WHERE y.conference_id = $1 AND y.id = ANY ($2::uuid[])
      UNION ALL SELECT id::text, name, '/log-mappings/' || id FROM log_mapping
      WHERE conference_id = $1 AND id = ANY ($2::uuid[])
      UNION ALL SELECT id::text, 'token ' || name, '/settings/keys#tokens' FROM api_token
      WHERE conference_id = $1 AND id = ANY ($2::uuid[])
      UNION ALL SELECT id::text, 'webhook ' || split_part(address, '?', 1), '/settings/webhooks/' || id FROM webhook
      WHERE conference_id = $1 AND id = ANY ($2::uuid[])
      UNION ALL SELECT id::text, 'film ' || angle, '/games/' || game_id || '/films' FROM film
      WHERE conference_id = $1 AND id = ANY ($2::uuid[])
      UNION ALL SELECT DISTINCT key, title, NULL::text FROM duty WHERE conference_id = $1`,
    [conferenceId, [...ids]],
  );
  return {
    names: new Map(rows.map(({ id, name }) => [id, name])),
    places: new Map(rows.flatMap(({ id, place }) => (place === null ? [] : [[id, place] as const]))),
  };
}
