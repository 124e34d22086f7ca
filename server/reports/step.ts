import type { FastifyInstance, FastifyRequest } from 'fastify';
import { sessionOf } from '../accounts/policy.ts';
import type { Session } from '../accounts/session.ts';
import { inTransaction, type Queryable } from '../database/transaction.ts';
import { withProblems } from './request-errors.ts';

/** What a request does to reports: in one transaction, by who is signed in; a refusal becomes a problem. */
type Step = <Result>(
  request: FastifyRequest,
  work: (client: Queryable, acting: Session) => Promise<Result>,
) => Promise<Result>;

export const stepsOf =
  ({ database }: FastifyInstance): Step =>
  (request, work) =>
    withProblems(() => inTransaction(database.pool, (client) => work(client, sessionOf(request))));
