import type { PersonActing } from '../../accounts/acting.ts';
import { appendAudit } from '../../accounts/audit/audit.ts';
import type { Queryable } from '../../database/transaction.ts';
import type { Ruling } from '../rules/categories-and-rulings.ts';
import { InquiryRefused, isOpen } from '../rules/states.ts';
import { readInquiry, roundOf } from './inquiry-store.ts';
import { requireNoTie } from './ties-store.ts';

/** What an official was asked and said. */
interface Statement {
  readonly personId: string;
  readonly name: string;
  readonly position: string | null;
  readonly asked: string;
  readonly askedAt: Date;
  readonly text: string;
  readonly givenAt: Date | null;
}

/** All of an inquiry: for the coordinator alone. */
export async function statementsOf(
  db: Queryable,
  conferenceId: string,
  inquiryId: string,
): Promise<Statement[]> {
  const { rows } = await db.query<Statement>(
    `SELECT s.person_id AS "personId", p.given_name || ' ' || p.family_name AS name, w.position, s.asked,
            s.asked_at AS "askedAt", s.text, s.given_at AS "givenAt"
       FROM inquiry_statement s
       JOIN person p ON p.conference_id = s.conference_id AND p.id = s.person_id
       LEFT JOIN working_crew_member w ON w.conference_id = s.conference_id AND w.game_id = s.game_id
                                      AND w.person_id = s.person_id
      WHERE s.conference_id = $1 AND s.inquiry_id = $2 ORDER BY w.position, p.family_name`,
    [conferenceId, inquiryId],
  );
  return rows;
}

/** @throws InquiryRefused once the inquiry is answered, and without words */
export async function giveStatement(
  client: Queryable,
  acting: PersonActing,
  inquiryId: string,
  text: string,
): Promise<void> {
  const { conferenceId, personId } = acting;
  const inquiry = await readInquiry(client, conferenceId, inquiryId, 'lock');
  if (!isOpen(inquiry.state))
    throw new InquiryRefused('The team has its answer already, so no statement is taken any more.');
  if (text === '') throw new InquiryRefused('Write what you saw and did.', 'text');
  const { rowCount } = await client.query(
    `UPDATE inquiry_statement SET text = $4, given_at = now()
      WHERE conference_id = $1 AND inquiry_id = $2 AND person_id = $3`,
    [conferenceId, inquiryId, personId, text],
  );
  if (!rowCount) throw new InquiryRefused('Nobody asked you about this play.');
  await appendAudit(client, {
    ...{ conferenceId, actorId: personId, action: 'inquiry: statement given' },
    ...{ subjectKind: 'inquiry', subjectId: inquiryId, after: { statement: 'given' } },
  });
}

/** What a second reader was asked to look at, and holds. */
interface Reading {
  readonly round: number;
  readonly readerId: string;
  readonly reader: string;
  readonly askedAt: Date;
  readonly ruling: Ruling | null;
  readonly words: string;
  readonly readAt: Date | null;
  readonly differs: string;
}

/** Of each round that has one. */
export async function readingsOf(db: Queryable, conferenceId: string, inquiryId: string): Promise<Reading[]> {
  const { rows } = await db.query<Reading>(
    `SELECT r.round, r.reader_id AS "readerId", p.given_name || ' ' || p.family_name AS reader, r.asked_at AS "askedAt",
            r.ruling, r.words, r.read_at AS "readAt", r.differs
       FROM inquiry_reading r JOIN person p ON p.conference_id = r.conference_id AND p.id = r.reader_id
      WHERE r.conference_id = $1 AND r.inquiry_id = $2 ORDER BY r.round`,
    [conferenceId, inquiryId],
  );
  return rows;
}

/** @throws InquiryRefused once the inquiry is answered, with a tie declared since they were asked, and without words */
export async function giveReading(
  client: Queryable,
  acting: PersonActing,
  inquiryId: string,
  { ruling, words }: { ruling: Ruling; words: string },
): Promise<void> {
  const { conferenceId, personId } = acting;
  const inquiry = await readInquiry(client, conferenceId, inquiryId, 'lock');
  if (!isOpen(inquiry.state))
    throw new InquiryRefused('The team has its answer already, so no second reading is taken any more.');
  await requireNoTie(client, acting, inquiry.gameId);
  if (words === '') throw new InquiryRefused('Write why you hold that.', 'words');
  const { rowCount } = await client.query(
    `UPDATE inquiry_reading SET ruling = $5, words = $6, read_at = now()
      WHERE conference_id = $1 AND inquiry_id = $2 AND round = $3 AND reader_id = $4`,
    [conferenceId, inquiryId, roundOf(inquiry), personId, ruling, words],
  );
  if (!rowCount) throw new InquiryRefused('Somebody else was asked to read this play.');
  await appendAudit(client, {
    ...{ conferenceId, actorId: personId, action: 'inquiry: second reading given' },
    ...{ subjectKind: 'inquiry', subjectId: inquiryId, after: { ruling } },
  });
}
