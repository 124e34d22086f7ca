import { createHash } from 'node:crypto';
import { canonicalJson } from '../../accounts/audit/canonical-json.ts';
import type { Queryable } from '../../database/transaction.ts';
import { type Retention, type RetentionKind, retentionKinds } from './kinds.ts';
import { type Counts, countParts, partsOfConference, partsOfSeason } from './parts.ts';

/** What the trail's entry of it says was done. */
export const tookAway = 'took away what is no longer kept';

/** Something that is kept longer than the conference wants: of a season, of a person, or of neither. */
export interface Due {
  readonly kind: RetentionKind;
  /** Closed. */
  readonly season: { readonly id: string; readonly name: string } | null;
  readonly person: {
    readonly id: string;
    readonly name: string;
    readonly email: string;
    /** The last season that they had a part in; null when they had none. */
    readonly lastSeason: string | null;
  } | null;
  readonly counts: Counts;
}

/** Everything that is due today, in the order in which it is taken away. Changes nothing: a dry run. */
export async function dueNow(
  db: Queryable,
  conferenceId: string,
  setting: Retention,
  kinds: readonly RetentionKind[] = retentionKinds,
): Promise<Due[]> {
  const due: Due[] = [];
  for (const kind of kinds) {
    const years = setting[kind];
    if (years === null) continue;
    if (kind === 'people') {
      due.push(...(await peopleDue(db, conferenceId, years)));
      continue;
    }
    for (const season of await oldSeasons(db, conferenceId, kind, years)) {
      const counts = await countParts(db, conferenceId, season.id, partsOfSeason[kind]!);
      if (Object.keys(counts).length > 0) due.push({ kind, season, person: null, counts });
    }
    const counts = await countParts(db, conferenceId, years, partsOfConference[kind] ?? []);
    if (Object.keys(counts).length > 0) due.push({ kind, season: null, person: null, counts });
  }
  return due;
}

async function oldSeasons(db: Queryable, conferenceId: string, kind: RetentionKind, years: number) {
  if (partsOfSeason[kind] === undefined) return [];
  const { rows } = await db.query<{ id: string; name: string }>(
    `SELECT id, name FROM season
      WHERE conference_id = $1 AND state = 'closed' AND closed_at <= now() - make_interval(years => $2)
      ORDER BY closed_at, name, id`,
    [conferenceId, years],
  );
  return rows;
}

/** Every part that somebody can have in a season. */
const parts = `
  SELECT m.person_id, c.season_id FROM crew_member m JOIN crew c ON c.conference_id = m.conference_id AND c.id = m.crew_id WHERE m.conference_id = $1
  UNION SELECT m.person_id, g.season_id FROM working_crew_member m JOIN game g ON g.conference_id = m.conference_id AND g.id = m.game_id WHERE m.conference_id = $1
  UNION SELECT a.observer_id, g.season_id FROM observer_assignment a JOIN game g ON g.conference_id = a.conference_id AND g.id = a.game_id WHERE a.conference_id = $1
  UNION SELECT observer_id, season_id FROM report WHERE conference_id = $1
  UNION SELECT o.person_id, r.season_id FROM observation o JOIN report r ON r.conference_id = o.conference_id AND r.id = o.report_id WHERE o.conference_id = $1
  UNION SELECT person_id, season_id FROM letter WHERE conference_id = $1
  UNION SELECT person_id, season_id FROM development_point WHERE conference_id = $1
  UNION SELECT person_id, season_id FROM season_availability WHERE conference_id = $1`;

async function peopleDue(db: Queryable, conferenceId: string, years: number): Promise<Due[]> {
  const { rows } = await db.query<NonNullable<Due['person']>>(
    `WITH part AS (${parts}),
     last AS (
       SELECT p.person_id, bool_or(s.state <> 'closed') AS goes_on, max(s.closed_at) AS closed_at,
              (array_agg(s.name ORDER BY s.closed_at DESC NULLS LAST))[1] AS name
         FROM part p JOIN season s ON s.conference_id = $1 AND s.id = p.season_id GROUP BY p.person_id)
     SELECT p.id, p.given_name || ' ' || p.family_name AS name, p.email, l.name AS "lastSeason"
       FROM person p LEFT JOIN last l ON l.person_id = p.id
      CROSS JOIN LATERAL (SELECT now() - make_interval(years => $2) AS until) old
      WHERE p.conference_id = $1 AND p.erased_at IS NULL AND p.created_at <= old.until
        AND NOT coalesce(l.goes_on, false) AND coalesce(l.closed_at, p.created_at) <= old.until
        AND NOT EXISTS (SELECT FROM person_role r WHERE r.conference_id = $1 AND r.person_id = p.id AND r.role = 'coordinator')
        AND NOT EXISTS (SELECT FROM invitation i WHERE i.conference_id = $1 AND i.person_id = p.id AND i.asked_at > old.until)
        AND NOT EXISTS (SELECT FROM session e WHERE e.conference_id = $1 AND e.person_id = p.id AND e.expires_at > now())
        AND NOT EXISTS (SELECT FROM known_device k WHERE k.conference_id = $1 AND k.person_id = p.id)
        AND NOT EXISTS (SELECT FROM api_token a WHERE a.conference_id = $1 AND a.person_id = p.id
                           AND a.revoked_at IS NULL AND a.expires_at > now())
      ORDER BY p.family_name, p.given_name, p.id`,
    [conferenceId, years],
  );
  return rows.map((person) => ({ kind: 'people', season: null, person, counts: { people: 1 } }));
}

/** Known again: what was looked at in a dry run is what is then taken away. */
export const digestOf = (due: readonly Due[]): string =>
  createHash('sha256').update(canonicalJson(due)).digest('hex').slice(0, 32);

/** Seasons whose last week ended more than a year ago: nothing of them goes before they are closed. */
export async function longOpenSeasons(db: Queryable, conferenceId: string): Promise<string[]> {
  const { rows } = await db.query<{ name: string }>(
    `SELECT s.name FROM season s
       JOIN season_week w ON w.conference_id = s.conference_id AND w.season_id = s.id
      WHERE s.conference_id = $1 AND s.state <> 'closed'
      GROUP BY s.id, s.name HAVING max(w.last_day) < now() - interval '1 year' ORDER BY s.name`,
    [conferenceId],
  );
  return rows.map(({ name }) => name);
}
