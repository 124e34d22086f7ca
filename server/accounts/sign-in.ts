import type pg from 'pg';
import { Problem } from '../web/problem.ts';
import { hashPassword, needsNewHash, passwordMatches, spendAsLongAsACheck } from './password.ts';
import type { Attempt, SignInLimit } from './sign-in-limit.ts';

/** A person whose e-mail and password were given. In several conferences one e-mail is several people. */
type Match = {
  conferenceId: string;
  conferenceSlug: string;
  conferenceName: string;
  personId: string;
};

type Credentials = Attempt & { password: string };

const wrongCredentials = () =>
  new Problem(401, 'Not signed in', 'The e-mail and password do not fit any active account here.');

/**
 * The active people whose e-mail and password these are, by conference name; never empty.
 * @throws Problem 401 when nobody's, TooManyAttempts after too many failures. Which of the two parts was wrong is not
 * told, nor shown by the time it takes.
 */
export async function checkCredentials(
  pool: pg.Pool,
  limit: SignInLimit,
  { email: typed, password, address, device }: Credentials,
): Promise<Match[]> {
  const email = typed.trim().toLowerCase();
  const attempt = { email, address, device };
  await limit.count(attempt);
  const { rows } = await pool.query(
    `SELECT p.conference_id, c.slug, c.name, p.id, p.password_hash
       FROM person p JOIN conference c ON c.id = p.conference_id
      WHERE p.email = $1 AND p.active AND p.password_hash IS NOT NULL
      ORDER BY c.name, c.slug`,
    [email],
  );
  if (rows.length === 0) await spendAsLongAsACheck(password);
  const matches: Match[] = [];
  for (const row of rows) {
    if (!(await passwordMatches(row.password_hash, password))) continue;
    matches.push({
      conferenceId: row.conference_id,
      conferenceSlug: row.slug,
      conferenceName: row.name,
      personId: row.id,
    });
    if (needsNewHash(row.password_hash)) {
      await pool.query(
        'UPDATE person SET password_hash = $1 WHERE conference_id = $2 AND id = $3 AND password_hash = $4',
        [await hashPassword(password), row.conference_id, row.id, row.password_hash],
      );
    }
  }
  if (matches.length === 0) throw wrongCredentials();
  await limit.forget(attempt);
  return matches;
}
