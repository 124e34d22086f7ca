import type pg from 'pg';
import type { WebhookResult } from '../metrics/metrics.ts';
import { claimNext, settle } from './delivery-queue.ts';
import { bodyOf } from './events.ts';
import { post } from './post.ts';
import { signatureHeaders } from './signature.ts';

interface Sender {
  readonly pool: pg.Pool;
  /** What links begin with. */
  readonly address: string;
  /** Whether this machine may be told too, also without TLS. */
  readonly toLoopback: boolean;
  /** Told how each try ended. */
  readonly ended: (result: WebhookResult) => void;
}

/**
 * Sends what is due next. An event may arrive twice when a process dies between sending and noting it, or an answer is
 * lost; its webhook-id is then the same.
 * @returns false when nothing is due.
 */
export async function deliverNext({ pool, address, toLoopback, ended }: Sender): Promise<boolean> {
  const claimed = await claimNext(pool);
  if (claimed === undefined) return false;
  if (claimed === null) return true;
  const body = bodyOf(claimed, address);
  const headers = signatureHeaders({ id: claimed.id, at: new Date(), body }, claimed.secrets);
  const result = await settle(pool, claimed, await post(claimed.address, headers, body, toLoopback));
  if (result) ended(result);
  return true;
}
