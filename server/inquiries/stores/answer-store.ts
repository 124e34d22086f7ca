import { createHash } from 'node:crypto';
import type { PersonInZone } from '../../accounts/acting.ts';
import { appendAudit } from '../../accounts/audit/audit.ts';
import type { Database } from '../../database/database.ts';
import { inTransaction, type Queryable } from '../../database/transaction.ts';
import type { LetterDocument } from '../../letters/document-tree.ts';
import { readNamed } from '../../programs/stores/edition-store.ts';
import { invalid, notFound } from '../../web/problem.ts';
import { dayIn } from '../../web/today.ts';
import { answerLetter } from '../answer-letter.ts';
import { tellOfAnswer } from '../inquiry-messages.ts';
import { type Decided, faultsOfAnswer } from '../rules/answering.ts';
import type { Ruling } from '../rules/categories-and-rulings.ts';
import { InquiryRefused, stateAfter } from '../rules/states.ts';
import { type Inquiry, readInquiry, requireSeen, roundOf } from './inquiry-store.ts';
import { readInquirySetting } from './setting-store.ts';
import { readingsOf } from './statement-store.ts';
import { requireNoTie } from './ties-store.ts';

export type Answering = PersonInZone & { readonly conferenceName: string };

/** Draws a letter as PDF. */
export type Print = (document: LetterDocument) => Promise<Buffer>;

/**
 * Answers a team: the letter is drawn, kept and mailed, and stays as it is.
 *
 * @throws Problem 400 naming each field that is missing or holds a name; 409 when somebody changed the inquiry while the
 *   letter was drawn; InquiryRefused when its state, a tie or a missing second reading does not allow it
 */
export async function answerInquiry(
  { pool }: Pick<Database, 'pool'>,
  acting: Answering,
  inquiryId: string,
  decided: Decided,
  print: Print,
  seen: number | null = null,
): Promise<void> {
  const { conferenceId, conferenceName, timeZone } = acting;
  const inquiry = await readInquiry(pool, conferenceId, inquiryId);
  requireSeen(inquiry, seen);
  await requireAnswerable(pool, acting, inquiry, decided);
  const { ruling, rule, reason } = decided;
  const answeredAt = acting.at ?? (await databaseClock(pool));
  const pdf = await print(
    answerLetter({
      ...{ conference: conferenceName, inquiry, ruling, rule, reason, answeredAt },
      notice: (await readInquirySetting(pool, conferenceId)).notice,
      day: dayIn(timeZone, answeredAt),
    }),
  );
  await inTransaction(pool, async (client) => {
    const now = await readInquiry(client, conferenceId, inquiryId, 'lock');
    requireSeen(now, inquiry.version);
    await requireAnswerable(client, acting, now, decided);
    await keepAnswer(client, acting, now, decided, { pdf, answeredAt });
  });
}

// What is released is told by comparing times, so answers and releases go by one clock; hosts may be seconds apart.
async function databaseClock(db: Queryable): Promise<Date> {
  const { rows } = await db.query<{ now: Date }>('SELECT clock_timestamp() AS now');
  return rows[0]!.now;
}

async function requireAnswerable(db: Queryable, acting: Answering, inquiry: Inquiry, decided: Decided) {
  const { conferenceId } = acting;
  if (inquiry.closedSeason)
    throw new InquiryRefused(`Season ${inquiry.season} is closed: its inquiries can be read, not changed.`);
  await requireNoTie(db, acting, inquiry.gameId);
  const read = await secondReading(db, conferenceId, inquiry);
  if (inquiry.decisive && read?.readerId === acting.personId) throw new InquiryRefused(readItThemselves);
  const faults = faultsOfAnswer(inquiry, decided, read, await readNamed(db, conferenceId, inquiry.seasonId));
  if (faults.length > 0) throw invalid([...faults]);
}

const readItThemselves =
  'You read this play as its second reader, so another coordinator answers it: two people look at a play that may have decided a game.';

/** What the second reader of this round holds; null while nobody has read it. */
async function secondReading(
  db: Queryable,
  conferenceId: string,
  inquiry: Inquiry,
): Promise<{ ruling: Ruling; readerId: string } | null> {
  const reading = (await readingsOf(db, conferenceId, inquiry.id)).find(
    ({ round }) => round === roundOf(inquiry),
  );
  return reading && reading.ruling !== null ? { ruling: reading.ruling, readerId: reading.readerId } : null;
}

async function keepAnswer(
  client: Queryable,
  { conferenceId, personId }: Answering,
  inquiry: Inquiry,
  { ruling, rule, reason, differs, namesMeant }: Decided,
  { pdf, answeredAt }: { pdf: Buffer; answeredAt: Date },
) {
  const round = roundOf(inquiry);
  const state = stateAfter(inquiry.state, 'answer');
  const sha256 = createHash('sha256').update(pdf).digest('hex');
  await client.query(
    `INSERT INTO inquiry_answer (conference_id, inquiry_id, round, game_id, ruling, rule, reason, answered_by, answered_at,
                                 sha256, pdf)
     VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11)`,
    [
      ...[conferenceId, inquiry.id, round, inquiry.gameId, ruling, rule, reason],
      ...[personId, answeredAt, sha256, pdf],
    ],
  );
  if (differs !== '')
    await client.query(
      'UPDATE inquiry_reading SET differs = $4 WHERE conference_id = $1 AND inquiry_id = $2 AND round = $3',
      [conferenceId, inquiry.id, round, differs],
    );
  await client.query(
    `UPDATE inquiry SET state = $3, version = version + 1,
            taken_up_by = coalesce(taken_up_by, $4) WHERE conference_id = $1 AND id = $2`,
    [conferenceId, inquiry.id, state, personId],
  );
  await tellOfAnswer(client, conferenceId, inquiry, { round, ruling });
  await appendAudit(client, {
    ...{ conferenceId, actorId: personId, action: 'inquiry answered', subjectKind: 'inquiry' },
    subjectId: inquiry.id,
    before: { state: inquiry.state },
    after: { state, ruling, rule, sha256, namesMeant },
  });
}

/**
 * The letter of an answer.
 * @throws Problem 404 when there is none, or it is no longer kept
 */
export async function readAnswerLetter(
  db: Queryable,
  conferenceId: string,
  inquiryId: string,
  round: number,
): Promise<{ pdf: Buffer; number: number }> {
  const { rows } = await db.query<{ pdf: Buffer | null; number: number }>(
    `SELECT a.pdf, i.number FROM inquiry_answer a
       JOIN inquiry i ON i.conference_id = a.conference_id AND i.id = a.inquiry_id
      WHERE a.conference_id = $1 AND a.inquiry_id = $2 AND a.round = $3`,
    [conferenceId, inquiryId, round],
  );
  const letter = rows[0];
  if (!letter?.pdf) throw notFound('letter');
  return { pdf: letter.pdf, number: letter.number };
}
