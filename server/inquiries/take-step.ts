import type { z } from 'zod';
import type { Database } from '../database/database.ts';
import { inTransaction } from '../database/transaction.ts';
import type { handlingSchema } from './inquiry-schemas.ts';
import { type Answering, answerInquiry, type Print } from './stores/answer-store.ts';
import { handleInquiry } from './stores/handling-store.ts';

/**
 * Does with an inquiry what a coordinator says, by API or page.
 * @throws InquiryRefused, Problem 400, 404 or 409; see `answerInquiry` and `handleInquiry`
 */
export async function takeStep(
  database: Pick<Database, 'pool'>,
  acting: Answering,
  inquiryId: string,
  step: z.output<typeof handlingSchema>,
  print: Print,
): Promise<void> {
  if (step.step === 'answer') await answerInquiry(database, acting, inquiryId, step, print);
  else await inTransaction(database.pool, (client) => handleInquiry(client, acting, inquiryId, step));
}
