import type { z } from 'zod';
import type { Database } from '../database/database.ts';
import { inTransaction } from '../database/transaction.ts';
import type { handlingSchema } from './inquiry-schemas.ts';
import { type Answering, answerInquiry, type Print } from './stores/answer-store.ts';
import { handleInquiry } from './stores/handling-store.ts';

/**
 * Does with an inquiry what a coordinator says, by API or page.
 * @param seen the version that they looked at, which must be the one there is; null where they say none
 * @throws InquiryRefused, Problem 400, 404 or 409; see `answerInquiry` and `handleInquiry`
 */
export async function takeStep(
  database: Pick<Database, 'pool'>,
  acting: Answering,
  inquiryId: string,
  step: z.output<typeof handlingSchema>,
  print: Print,
  seen: number | null = null,
): Promise<void> {
  if (step.step === 'answer') await answerInquiry(database, acting, inquiryId, step, print, seen);
  else await inTransaction(database.pool, (client) => handleInquiry(client, acting, inquiryId, step, seen));
}
