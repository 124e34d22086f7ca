import type { Queryable } from '../database/transaction.ts';
import { invalid } from '../web/problem.ts';
import { passwordMatches } from './password.ts';
import type { Session } from './session.ts';
import type { Attempt, SignInLimit } from './sign-in-limit.ts';

/**
 * Asks the signed-in person for their password once more, before something that only they may do. Wrong ones count as
 * at sign-in.
 * @param wrong the field that holds it, and what is said there when it is another
 * @throws Problem 400 that names the field, TooManyAttempts.
 */
export async function requirePresentPassword(
  db: Queryable,
  limit: SignInLimit,
  session: Session,
  {
    from,
    password,
    wrong,
  }: {
    from: Omit<Attempt, 'email'>;
    password: string;
    wrong: { field: string; message: string };
  },
): Promise<void> {
  const attempt = { ...from, email: session.email };
  await limit.count(attempt);
  const { rows } = await db.query<{ password_hash: string | null }>(
    'SELECT password_hash FROM person WHERE conference_id = $1 AND id = $2',
    [session.conferenceId, session.personId],
  );
  if (!(await passwordMatches(rows[0]?.password_hash ?? '', password))) throw invalid([wrong]);
  await limit.forget(attempt);
}
