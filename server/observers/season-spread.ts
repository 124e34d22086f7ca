import type { Queryable } from '../database/transaction.ts';
import { type Spread, spreadBeforeData } from './prices.ts';

/** What grades of this season vary by: from its own mixed model once there is one, a guess before. */
export async function seasonSpread(
  _db: Queryable,
  _conferenceId: string,
  _seasonId: string,
): Promise<Spread> {
  return spreadBeforeData;
}
