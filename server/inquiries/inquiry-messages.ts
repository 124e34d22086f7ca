import type { PersonActing } from '../accounts/acting.ts';
import type { Queryable } from '../database/transaction.ts';
import type { Prepare } from '../messages/sending.ts';
import { tell, tellCoordinators } from '../messages/tell.ts';
import type { Ruling } from './rules/categories-and-rulings.ts';
import type { Inquiry } from './stores/inquiry-store.ts';

const about = ({ id, game, week, number }: Inquiry) => ({
  aboutId: id,
  facts: { game, week, number: number ?? 0 },
});

/** Tells the coordinators that a team asks, in the transaction in which it comes. */
export async function tellOfInquiry(
  client: Queryable,
  acting: PersonActing,
  inquiry: Inquiry,
  what: 'new' | 'reopened',
): Promise<void> {
  const { aboutId, facts } = about(inquiry);
  await tellCoordinators(client, {
    conferenceId: acting.conferenceId,
    actorId: acting.personId,
    kind: 'inquiry',
    aboutId,
    facts: { ...facts, team: inquiry.team, what, due: inquiry.dueOn ?? '' },
  });
}

/** Everybody who speaks for the team and may sign in. */
async function contactsOf(client: Queryable, conferenceId: string, teamId: string): Promise<string[]> {
  const { rows } = await client.query<{ id: string }>(
    `SELECT p.id FROM team_contact c
       JOIN person p ON p.conference_id = c.conference_id AND p.id = c.person_id AND p.active
       JOIN person_role r ON r.conference_id = p.conference_id AND r.person_id = p.id AND r.role = 'team contact'
      WHERE c.conference_id = $1 AND c.team_id = $2`,
    [conferenceId, teamId],
  );
  return rows.map(({ id }) => id);
}

export async function tellOfSendingBack(
  client: Queryable,
  conferenceId: string,
  inquiry: Inquiry,
): Promise<void> {
  const { aboutId, facts } = about(inquiry);
  await tell(client, {
    conferenceId,
    personIds: await contactsOf(client, conferenceId, inquiry.teamId),
    kind: 'inquiry sent back',
    aboutId,
    facts: { ...facts, because: inquiry.sentBackBecause ?? 'not reviewable', reason: inquiry.sentBackReason },
  });
}

/** The official learns of which play, and not who asks. */
export async function tellOfStatement(
  client: Queryable,
  conferenceId: string,
  inquiry: Inquiry,
  personIds: readonly string[],
): Promise<void> {
  const { game, week } = inquiry;
  await tell(client, {
    ...{ conferenceId, personIds, kind: 'statement asked', aboutId: inquiry.id },
    facts: { game, week },
  });
}

export async function tellOfReading(
  client: Queryable,
  conferenceId: string,
  inquiry: Inquiry,
  readerId: string,
): Promise<void> {
  const { game, week } = inquiry;
  await tell(client, {
    ...{ conferenceId, personIds: [readerId], kind: 'second reading asked', aboutId: inquiry.id },
    facts: { game, week },
  });
}

export async function tellOfAnswer(
  client: Queryable,
  conferenceId: string,
  inquiry: Inquiry,
  { round, ruling }: { round: number; ruling: Ruling },
): Promise<void> {
  const { aboutId, facts } = about(inquiry);
  await tell(client, {
    conferenceId,
    personIds: await contactsOf(client, conferenceId, inquiry.teamId),
    kind: 'inquiry answered',
    aboutId,
    facts: { ...facts, ruling, round },
  });
}

/** The mail of an answer holds its letter. */
export const prepareAnswer: Prepare = async (db, { conferenceId, aboutId, facts }) => {
  const { rows } = await db.query<{ pdf: Buffer | null; number: number }>(
    `SELECT a.pdf, i.number FROM inquiry_answer a
       JOIN inquiry i ON i.conference_id = a.conference_id AND i.id = a.inquiry_id
      WHERE a.conference_id = $1 AND a.inquiry_id = $2 AND a.round = $3`,
    [conferenceId, aboutId, facts.round],
  );
  const answer = rows[0];
  if (!answer) return null;
  if (!answer.pdf) return {};
  const filename = letterName(answer.number);
  return {
    facts: { enclosed: true },
    attachments: [{ filename, content: answer.pdf, contentType: 'application/pdf' }],
  };
};

export const letterName = (number: number): string => `inquiry-${number}-answer.pdf`;
