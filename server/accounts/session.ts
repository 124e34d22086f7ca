import { validate as isUuid } from 'uuid';
import type { Asking } from '../database/pipeline.ts';
import type { Queryable } from '../database/transaction.ts';
import type { TokenInUse } from './api-token/token-in-use.ts';
import type { Role } from './roles.ts';
import type { Question } from './scope.ts';
import { newToken, tokenHash } from './token.ts';

/** Who makes a request. Read anew for each, so that a changed role or an ended account takes effect at once. */
export type Session = {
  conferenceId: string;
  conferenceName: string;
  /** The conference's zone: its days begin and end there. */
  timeZone: string;
  personId: string;
  email: string;
  givenName: string;
  familyName: string;
  roles: ReadonlySet<Role>;
  csrfToken: string;
  /** The season this person chose to look at; null follows the conference's current one. */
  seasonId: string | null;
  /** The conference needs a second factor of its coordinators, and this one has none: until then nothing else is open. */
  mustEnrol: boolean;
  /** The program's token that the request came with; null for a person with a cookie. */
  token: (TokenInUse & { readonly readOnly: boolean }) | null;
};

const day = 24 * 3600;

/** A session not used for this long (seconds) ends. */
export const idleLifetime = 14 * day;

/** However much it is used, a session ends after this long (seconds): the limit of NIST SP 800-63B, section 2.1.3. */
const longestLifetime = 30 * day;

/** Use is noted at most this often (seconds), to spare a write at each request. */
const renewalInterval = 300;

type Row = {
  conference_id: string;
  conference_name: string;
  time_zone: string;
  person_id: string;
  email: string;
  given_name: string;
  family_name: string;
  roles: Role[];
  csrf_token: string;
  season_id: string | null;
  must_enrol: boolean;
  token_id: string | null;
  token_name: string | null;
  read_only: boolean;
  due: boolean;
  holds: boolean[];
};

/** Starts a session. @returns the token for the cookie; the database keeps its hash only. */
export async function startSession(
  db: Queryable,
  person: { conferenceId: string; personId: string },
): Promise<string> {
  const token = newToken();
  await db.query(
    `INSERT INTO session (token_hash, conference_id, person_id, csrf_token, expires_at)
     VALUES ($1, $2, $3, $4, now() + make_interval(secs => $5))`,
    [tokenHash(token), person.conferenceId, person.personId, newToken(), idleLifetime],
  );
  return token;
}

/** What else to ask while the session is read: which of the questions hold for the thing with this id. */
export interface About {
  readonly id: string;
  readonly questions: readonly Question[];
}

/**
 * The session of a token, or null when there is none, it has expired, or the person is no longer active.
 * `renewedUntil` is set when this use moved the session's end; `holds` has the questions that hold.
 */
export async function findSession(
  db: Queryable,
  token: string,
  about: About = { id: '', questions: [] },
  asking: Asking = db,
): Promise<{ session: Session; holds: ReadonlySet<Question>; renewedUntil?: Date } | null> {
  const read = await readSession(asking, ofCookie, token, about);
  if (!read) return null;
  const { session, holds, due } = read;
  if (!due) return { session, holds };
  const renewed = await db.query<{ expires_at: Date }>(
    `UPDATE session
        SET last_seen_at = now(),
            expires_at = least(now() + make_interval(secs => $2), created_at + make_interval(secs => $3))
      WHERE token_hash = $1 RETURNING expires_at`,
    [tokenHash(token), idleLifetime, longestLifetime],
  );
  const renewedUntil = renewed.rows[0]?.expires_at;
  return { session, holds, ...(renewedUntil ? { renewedUntil } : {}) };
}

/**
 * The same by a program's token: its maker, in the token's role alone, as long as they have it. When it was used is
 * noted to the hour.
 */
export async function findTokenSession(
  db: Queryable,
  token: string,
  about: About = { id: '', questions: [] },
  asking: Asking = db,
): Promise<{ session: Session; holds: ReadonlySet<Question> } | null> {
  const read = await readSession(asking, ofToken, token, about);
  if (!read || read.session.roles.size === 0) return null;
  if (read.due) {
    await db.query(`UPDATE api_token SET last_used_at = date_trunc('hour', now()) WHERE token_hash = $1`, [
      tokenHash(token),
    ]);
  }
  return read;
}

/** Where a session comes from: what it is called, and SQL in which `$1` is the token's hash, `$2` the renewal interval. */
interface Source {
  readonly name: string;
  readonly sql: string;
}
const ofCookie: Source = {
  name: 'session',
  sql: `SELECT conference_id, person_id, csrf_token, season_id, NULL::text AS role, NULL::uuid AS token_id,
               NULL::text AS token_name, false AS read_only,
               last_seen_at < now() - make_interval(secs => $2) AS due
          FROM session WHERE token_hash = $1 AND expires_at > now()`,
};
const ofToken: Source = {
  name: 'token',
  sql: `SELECT conference_id, person_id, '' AS csrf_token, NULL::uuid AS season_id, role, id AS token_id,
               name AS token_name, read_only,
               coalesce(last_used_at < now() - interval '1 hour', $2::float8 > 0) AS due
          FROM api_token WHERE token_hash = $1 AND expires_at > now() AND revoked_at IS NULL`,
};

async function readSession(
  asking: Asking,
  source: Source,
  token: string,
  about: About,
): Promise<{ session: Session; holds: ReadonlySet<Question>; due: boolean } | null> {
  // No thing of ours has an id that is not a UUID.
  const questions = isUuid(about.id) ? about.questions : [];
  const { rows } = await asking.query<Row>({
    // Asked at nearly every request: under a name, the statement is planned once per connection.
    name: [source.name, ...questions.map((question) => question.name)].join(', '),
    text: `
      SELECT s.conference_id, c.name AS conference_name, c.time_zone, s.person_id, p.email, p.given_name, p.family_name,
             s.csrf_token, s.season_id, s.token_id, s.token_name, s.read_only, s.due,
             c.second_factor_needed
               AND EXISTS (SELECT FROM person_role r WHERE r.conference_id = s.conference_id
                              AND r.person_id = s.person_id AND r.role = 'coordinator')
               AND NOT EXISTS (SELECT FROM second_factor f WHERE f.conference_id = s.conference_id
                                  AND f.person_id = s.person_id AND f.confirmed_at IS NOT NULL) AS must_enrol,
             ARRAY(SELECT r.role FROM person_role r
                    WHERE r.conference_id = s.conference_id AND r.person_id = s.person_id
                      AND (s.role IS NULL OR r.role = s.role)) AS roles,
             ARRAY[${questions.map(({ sql }) => `EXISTS (${sql})`).join(', ')}]::boolean[] AS holds
        FROM (${source.sql}) s
        JOIN person p ON p.conference_id = s.conference_id AND p.id = s.person_id
        JOIN conference c ON c.id = s.conference_id
       WHERE p.active`,
    values: [tokenHash(token), renewalInterval, ...(questions.length > 0 ? [about.id] : [])],
  });
  const row = rows[0];
  if (!row) return null;
  const session: Session = {
    conferenceId: row.conference_id,
    conferenceName: row.conference_name,
    timeZone: row.time_zone,
    personId: row.person_id,
    email: row.email,
    givenName: row.given_name,
    familyName: row.family_name,
    roles: new Set(row.roles),
    csrfToken: row.csrf_token,
    seasonId: row.season_id,
    mustEnrol: row.must_enrol,
    token:
      row.token_id === null || row.token_name === null
        ? null
        : { id: row.token_id, name: row.token_name, readOnly: row.read_only, personId: row.person_id },
  };
  const holds = new Set(questions.filter((_, at) => row.holds[at]));
  return { session, holds, due: row.due };
}

/** Remembers, for as long as the session lasts, which season its person looks at; null follows the current one. */
export async function rememberSeason(db: Queryable, token: string, seasonId: string | null): Promise<void> {
  await db.query('UPDATE session SET season_id = $2 WHERE token_hash = $1', [tokenHash(token), seasonId]);
}

export async function endSession(db: Queryable, token: string): Promise<void> {
  await db.query('DELETE FROM session WHERE token_hash = $1', [tokenHash(token)]);
}

/** Ends every session of a person, on every device. `exceptToken` spares the one that asks for it. */
export async function endSessionsOf(
  db: Queryable,
  person: { conferenceId: string; personId: string },
  exceptToken?: string,
): Promise<void> {
  await db.query('DELETE FROM session WHERE conference_id = $1 AND person_id = $2 AND token_hash <> $3', [
    person.conferenceId,
    person.personId,
    exceptToken === undefined ? '' : tokenHash(exceptToken),
  ]);
}

/** Clears out what has expired; without it nothing would be wrong, only large. */
export async function removeExpiredSessions(db: Queryable): Promise<void> {
  await db.query('DELETE FROM session WHERE expires_at < now()');
}

/** In how many other places this person is signed in. */
export async function countOtherSessions(
  db: Queryable,
  person: Pick<Session, 'conferenceId' | 'personId'>,
  token: string,
): Promise<number> {
  const { rows } = await db.query<{ others: number }>(
    `SELECT count(*)::int AS others FROM session
      WHERE conference_id = $1 AND person_id = $2 AND token_hash <> $3 AND expires_at > now()`,
    [person.conferenceId, person.personId, tokenHash(token)],
  );
  return rows[0]!.others;
}
