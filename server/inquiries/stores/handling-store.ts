import type { PersonActing } from '../../accounts/acting.ts';
import { appendAudit } from '../../accounts/audit/audit.ts';
import type { Queryable } from '../../database/transaction.ts';
import { tellOfReading, tellOfSendingBack, tellOfStatement } from '../inquiry-messages.ts';
import type { SentBackBecause } from '../rules/categories-and-rulings.ts';
import { hasUnreleased } from '../rules/released.ts';
import { InquiryRefused, isOpen, stateAfter } from '../rules/states.ts';
import { type Inquiry, readInquiry, requireSeen, roundOf } from './inquiry-store.ts';
import { requireNoTie, tiesToGame } from './ties-store.ts';
import { closeInquiry } from './write-store.ts';

/** What a coordinator does with an inquiry before it is answered. */
type Handling =
  | { readonly step: 'take up'; readonly decisive: boolean }
  | { readonly step: 'send back'; readonly because: SentBackBecause; readonly reason: string }
  | { readonly step: 'ask the crew'; readonly personIds: readonly string[]; readonly asked: string }
  | { readonly step: 'ask a second reader'; readonly personId: string }
  | { readonly step: 'review' }
  | { readonly step: 'set decisive'; readonly decisive: boolean }
  | { readonly step: 'release to the crew' }
  | { readonly step: 'close' };

/**
 * Does one step of it, in one transaction with what is told of it.
 * @throws InquiryRefused when its state, a tie of who does it, or what is missing does not allow it; Problem 404
 */
export async function handleInquiry(
  client: Queryable,
  acting: PersonActing,
  inquiryId: string,
  handling: Handling,
  seen: number | null = null,
): Promise<void> {
  const { conferenceId } = acting;
  const inquiry = await readInquiry(client, conferenceId, inquiryId, 'lock');
  requireSeen(inquiry, seen);
  if (inquiry.closedSeason)
    throw new InquiryRefused(`Season ${inquiry.season} is closed: its inquiries can be read, not changed.`);
  await requireNoTie(client, acting, inquiry.gameId);
  switch (handling.step) {
    case 'take up':
      return takeUp(client, acting, inquiry, handling.decisive);
    case 'send back':
      return sendBack(client, acting, inquiry, handling);
    case 'ask the crew':
      return askCrew(client, acting, inquiry, handling);
    case 'ask a second reader':
      return askReader(client, acting, inquiry, handling.personId);
    case 'review':
      return moved(client, acting, inquiry, stateAfter(inquiry.state, 'review'), 'inquiry under review');
    case 'set decisive':
      return setDecisive(client, acting, inquiry, handling.decisive);
    case 'release to the crew':
      return releaseToCrew(client, acting, inquiry);
    case 'close':
      return closeInquiry(client, acting, inquiryId);
  }
}

async function moved(
  client: Queryable,
  { conferenceId, personId }: PersonActing,
  inquiry: Inquiry,
  state: Inquiry['state'],
  action: string,
  after: object = {},
): Promise<void> {
  await client.query(
    'UPDATE inquiry SET state = $3, version = version + 1 WHERE conference_id = $1 AND id = $2',
    [conferenceId, inquiry.id, state],
  );
  await appendAudit(client, {
    ...{ conferenceId, actorId: personId, action, subjectKind: 'inquiry', subjectId: inquiry.id },
    before: { state: inquiry.state },
    after: { state, ...after },
  });
}

async function takeUp(client: Queryable, acting: PersonActing, inquiry: Inquiry, decisive: boolean) {
  const state = stateAfter(inquiry.state, 'take up');
  await client.query(
    'UPDATE inquiry SET taken_up_by = $3, taken_up_at = now(), decisive = $4 WHERE conference_id = $1 AND id = $2',
    [acting.conferenceId, inquiry.id, acting.personId, decisive],
  );
  await moved(client, acting, inquiry, state, 'inquiry taken up', { decisive });
}

async function sendBack(
  client: Queryable,
  acting: PersonActing,
  inquiry: Inquiry,
  { because, reason }: { because: SentBackBecause; reason: string },
) {
  const state = stateAfter(inquiry.state, 'send back');
  if (reason === '') throw new InquiryRefused('Write to the team why it is sent back.', 'reason');
  await client.query(
    `UPDATE inquiry SET state = $3, sent_back_because = $4, sent_back_reason = $5, sent_back_at = now(),
            version = version + 1 WHERE conference_id = $1 AND id = $2`,
    [acting.conferenceId, inquiry.id, state, because, reason],
  );
  await tellOfSendingBack(client, acting.conferenceId, {
    ...inquiry,
    sentBackBecause: because,
    sentBackReason: reason,
  });
  await appendAudit(client, {
    ...{ conferenceId: acting.conferenceId, actorId: acting.personId, action: 'inquiry sent back' },
    ...{
      subjectKind: 'inquiry',
      subjectId: inquiry.id,
      before: { state: inquiry.state },
      after: { state, because },
    },
  });
}

async function askCrew(
  client: Queryable,
  acting: PersonActing,
  inquiry: Inquiry,
  { personIds, asked }: { personIds: readonly string[]; asked: string },
) {
  const { conferenceId, personId } = acting;
  const state = stateAfter(inquiry.state, 'ask the crew');
  if (personIds.length === 0) throw new InquiryRefused('Choose whom of the crew you ask.', 'personIds');
  if (asked === '') throw new InquiryRefused('Write what you ask them.', 'asked');
  const { rows } = await client.query<{ id: string }>(
    `INSERT INTO inquiry_statement AS s (conference_id, inquiry_id, game_id, person_id, asked, asked_by)
     SELECT $1, $2, w.game_id, w.person_id, $5, $6 FROM working_crew_member w
      WHERE w.conference_id = $1 AND w.game_id = $3 AND w.person_id = ANY ($4::uuid[])
     ON CONFLICT (conference_id, inquiry_id, person_id)
       DO UPDATE SET asked = excluded.asked, asked_by = excluded.asked_by, asked_at = now()
     RETURNING person_id AS id`,
    [conferenceId, inquiry.id, inquiry.gameId, personIds, asked, personId],
  );
  if (rows.length < new Set(personIds).size)
    throw new InquiryRefused('Only those who worked the game can be asked; choose among them.', 'personIds');
  await tellOfStatement(
    client,
    conferenceId,
    inquiry,
    rows.map(({ id }) => id),
  );
  await moved(client, acting, inquiry, state, 'inquiry: crew asked', { asked: rows.map(({ id }) => id) });
}

async function askReader(client: Queryable, acting: PersonActing, inquiry: Inquiry, readerId: string) {
  const { conferenceId, personId } = acting;
  const state = stateAfter(inquiry.state, 'ask a second reader');
  if (!inquiry.decisive)
    throw new InquiryRefused(
      'A second reader looks at plays that may have decided a game: say first that this is one.',
    );
  const reader = (await possibleReaders(client, acting, inquiry)).find(({ id }) => id === readerId);
  if (!reader)
    throw new InquiryRefused('Choose another coordinator, or an observer of the conference.', 'personId');
  if (reader.tied !== null)
    throw new InquiryRefused(`${reader.name} declared a ${reader.tied}: choose somebody else.`, 'personId');
  const { rowCount } = await client.query(
    `INSERT INTO inquiry_reading AS r (conference_id, inquiry_id, round, game_id, reader_id, asked_by)
     VALUES ($1, $2, $3, $4, $5, $6)
     ON CONFLICT (conference_id, inquiry_id, round)
       DO UPDATE SET reader_id = excluded.reader_id, asked_by = excluded.asked_by, asked_at = now()
       WHERE r.read_at IS NULL`,
    [conferenceId, inquiry.id, roundOf(inquiry), inquiry.gameId, readerId, personId],
  );
  if (!rowCount)
    throw new InquiryRefused('The second reader has written already; it stays with that.', 'personId');
  await tellOfReading(client, conferenceId, inquiry, readerId);
  await moved(client, acting, inquiry, state, 'inquiry: second reader asked', { reader: readerId });
}

async function setDecisive(client: Queryable, acting: PersonActing, inquiry: Inquiry, decisive: boolean) {
  if (!isOpen(inquiry.state))
    throw new InquiryRefused(
      `This inquiry is ${inquiry.state}; only one that is open can be called decisive.`,
    );
  if (inquiry.decisive === decisive) return;
  await client.query('UPDATE inquiry SET decisive = $3 WHERE conference_id = $1 AND id = $2', [
    ...[acting.conferenceId, inquiry.id, decisive],
  ]);
  const action = decisive ? 'inquiry: called decisive' : 'inquiry: not called decisive any more';
  await moved(client, acting, inquiry, inquiry.state, action);
}

async function releaseToCrew(client: Queryable, acting: PersonActing, inquiry: Inquiry) {
  if (inquiry.answers.length === 0)
    throw new InquiryRefused('There is no answer yet that the crew could read; answer the team first.');
  if (!hasUnreleased(inquiry)) throw new InquiryRefused('The crew may read the answer already.');
  // The clock of the answer (`answer-store.ts`), and after the inquiry was locked: no answer that is there is left out.
  await client.query(
    'UPDATE inquiry SET released_at = COALESCE($3, clock_timestamp()) WHERE conference_id = $1 AND id = $2',
    [acting.conferenceId, inquiry.id, acting.at ?? null],
  );
  await moved(client, acting, inquiry, inquiry.state, 'inquiry: answer released to the crew');
}

interface PossibleReader {
  readonly id: string;
  readonly name: string;
  /** What they declared that keeps them from it; null where nothing does. */
  readonly tied: string | null;
}

/** Who may read a decisive play a second time: other coordinators and observers, with what keeps some of them from it. */
export async function possibleReaders(
  db: Queryable,
  { conferenceId, personId }: PersonActing,
  { gameId, takenUpBy }: Pick<Inquiry, 'gameId' | 'takenUpBy'>,
): Promise<PossibleReader[]> {
  const { rows } = await db.query<{ id: string; name: string }>(
    `SELECT DISTINCT p.id, p.given_name || ' ' || p.family_name AS name, p.family_name FROM person p
       JOIN person_role r ON r.conference_id = p.conference_id AND r.person_id = p.id
                         AND r.role IN ('coordinator', 'observer')
      WHERE p.conference_id = $1 AND p.active AND p.id <> $2 AND p.id IS DISTINCT FROM $3::uuid
        AND NOT EXISTS (SELECT FROM working_crew_member w
                         WHERE w.conference_id = $1 AND w.game_id = $4 AND w.person_id = p.id)
      ORDER BY p.family_name, name, p.id`,
    [conferenceId, personId, takenUpBy, gameId],
  );
  const ties = await tiesToGame(
    db,
    conferenceId,
    gameId,
    rows.map(({ id }) => id),
  );
  return rows.map(({ id, name }) => {
    const own = ties.get(id) ?? [];
    return {
      id,
      name,
      tied: own.length > 0 ? own.map((tie) => `${tie.kind} with ${tie.name}`).join(', ') : null,
    };
  });
}
