import type pg from 'pg';
import type { PersonActing } from '../../accounts/acting.ts';
import { appendAudit } from '../../accounts/audit/audit.ts';

/** Remembers what was done to a quiz. */
export const notedOfQuiz = (
  client: pg.PoolClient,
  { conferenceId, personId }: PersonActing,
  quizId: string,
  action: string,
  before: object | null,
  after: object | null,
  reason?: string,
) =>
  appendAudit(client, {
    conferenceId,
    actorId: personId,
    action,
    subjectKind: 'quiz',
    subjectId: quizId,
    ...(reason === undefined ? {} : { reason }),
    ...(before ? { before } : {}),
    ...(after ? { after } : {}),
  });
