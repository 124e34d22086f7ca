import { createHash } from 'node:crypto';
import type pg from 'pg';
import { inTransaction } from '../database/transaction.ts';
import { Problem } from '../web/problem.ts';
import { countOne, type Delay, network, TooManyAttempts } from './sign-in-limit.ts';

const hour = 3600;

/** How many mails one address gets, and how many requests one network may make, before they have to wait. */
const forgottenDelays = {
  network: { free: 30, first: 60, longest: hour, window: hour },
  email: { free: 3, first: 10 * 60, longest: 6 * hour, window: 24 * hour },
} as const satisfies Record<string, Delay>;

/**
 * Counts a request for a new password, whether anybody has the address or not.
 * @throws Problem 429 when there were too many
 */
export async function countForgotten(pool: pg.Pool, email: string, address: string): Promise<void> {
  const key = (kind: string, what: string) =>
    `forgotten ${kind}:${createHash('sha256').update(what).digest('hex')}`;
  try {
    await inTransaction(pool, async (client) => {
      await countOne(client, key('network', network(address)), forgottenDelays.network);
      await countOne(client, key('email', email), forgottenDelays.email);
    });
  } catch (error) {
    if (!(error instanceof TooManyAttempts)) throw error;
    const minutes = Math.ceil(Number(error.headers['retry-after']) / 60);
    throw new Problem(
      429,
      'Too many requests',
      `A new password was asked for too often. Look among the mails that arrived, or try again in ${minutes === 1 ? '1 minute' : `${minutes} minutes`}; your coordinator can hand you a link at any time.`,
      [],
      error.headers,
    );
  }
}
