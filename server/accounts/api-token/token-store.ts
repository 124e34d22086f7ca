import type pg from 'pg';
import { inTransaction, type Queryable } from '../../database/transaction.ts';
import { invalid } from '../../web/problem.ts';
import { tokenPrefix } from '../../web/token-words.ts';
import { appendAudit } from '../audit/audit.ts';
import { notYours } from '../refusal.ts';
import type { StaffRole } from '../roles.ts';
import type { Session } from '../session.ts';
import { newToken, tokenHash } from '../token.ts';
import type { TokenInput } from './token-input.ts';

export interface ApiToken {
  readonly id: string;
  readonly name: string;
  readonly role: StaffRole;
  readonly readOnly: boolean;
  /** Who made it, and for whom it acts. */
  readonly madeBy: string;
  readonly createdAt: Date;
  readonly expiresAt: Date;
  /** To the hour; null when it never was. */
  readonly lastUsedAt: Date | null;
  readonly state: 'works' | 'expired' | 'revoked' | 'its maker lost the role';
}

const select = `
  SELECT t.id, t.name, t.role, t.read_only AS "readOnly", p.given_name || ' ' || p.family_name AS "madeBy",
         t.created_at AS "createdAt", t.expires_at AS "expiresAt", t.last_used_at AS "lastUsedAt",
         CASE WHEN t.revoked_at IS NOT NULL THEN 'revoked'
              WHEN t.expires_at <= now() THEN 'expired'
              WHEN p.active AND EXISTS (SELECT FROM person_role r WHERE r.conference_id = t.conference_id
                                           AND r.person_id = t.person_id AND r.role = t.role) THEN 'works'
              ELSE 'its maker lost the role' END AS state
    FROM api_token t JOIN person p ON p.conference_id = t.conference_id AND p.id = t.person_id`;

/** The conference's tokens, newest first; those that ended longer than 30 days ago are left to the trail. */
export async function listTokens(db: Queryable, conferenceId: string): Promise<ApiToken[]> {
  const { rows } = await db.query<ApiToken>(
    `${select} WHERE t.conference_id = $1
        AND least(t.expires_at, coalesce(t.revoked_at, t.expires_at)) > now() - interval '30 days'
      ORDER BY t.created_at DESC, t.id`,
    [conferenceId],
  );
  return rows;
}

/**
 * Makes a token that acts for who makes it, in one of their roles.
 * @returns the token itself, which cannot be shown again: its hash is kept.
 * @throws Problem 400 when they do not have the role.
 */
export async function makeToken(
  pool: pg.Pool,
  maker: Session,
  { name, role, readOnly, days }: TokenInput,
): Promise<{ token: string; kept: ApiToken }> {
  const { conferenceId, personId } = maker;
  if (!maker.roles.has(role)) {
    throw invalid([
      { field: 'role', message: `You are no ${role} yourself; a token may do what its maker may.` },
    ]);
  }
  const token = `${tokenPrefix}${newToken()}`;
  return inTransaction(pool, async (client) => {
    const { rows } = await client.query<{ id: string }>(
      `INSERT INTO api_token (conference_id, person_id, name, role, read_only, token_hash, expires_at)
       VALUES ($1, $2, $3, $4, $5, $6, now() + make_interval(days => $7)) RETURNING id`,
      [conferenceId, personId, name, role, readOnly, tokenHash(token), days],
    );
    const kept = await findToken(client, conferenceId, rows[0]!.id);
    const { expiresAt } = kept;
    await appendAudit(client, {
      conferenceId,
      actorId: personId,
      action: 'made a token for a program',
      subjectKind: 'api_token',
      subjectId: kept.id,
      after: { name, role, readOnly, expiresAt },
    });
    return { token, kept };
  });
}

/** @throws Refusal 404 when the conference has no such token. */
async function findToken(db: Queryable, conferenceId: string, tokenId: string): Promise<ApiToken> {
  const { rows } = await db.query<ApiToken>(`${select} WHERE t.conference_id = $1 AND t.id = $2`, [
    conferenceId,
    tokenId,
  ]);
  if (!rows[0]) throw notYours('token');
  return rows[0];
}

/** Makes a token worthless at once; again changes nothing. @throws Refusal 404 */
export async function revokeToken(pool: pg.Pool, actor: Session, tokenId: string): Promise<ApiToken> {
  const { conferenceId, personId } = actor;
  return inTransaction(pool, async (client) => {
    const found = await findToken(client, conferenceId, tokenId);
    const { rowCount } = await client.query(
      'UPDATE api_token SET revoked_at = now() WHERE conference_id = $1 AND id = $2 AND revoked_at IS NULL',
      [conferenceId, tokenId],
    );
    if (rowCount === 1) {
      await appendAudit(client, {
        conferenceId,
        actorId: personId,
        action: 'revoked a token for a program',
        subjectKind: 'api_token',
        subjectId: tokenId,
        before: { name: found.name, role: found.role, readOnly: found.readOnly },
      });
    }
    return found;
  });
}

/** Whoever is shut out keeps no program in their place. */
export async function revokeTokensOf(
  client: Queryable,
  person: { conferenceId: string; personId: string },
): Promise<void> {
  await client.query(
    'UPDATE api_token SET revoked_at = now() WHERE conference_id = $1 AND person_id = $2 AND revoked_at IS NULL',
    [person.conferenceId, person.personId],
  );
}
