import type { Asking } from '../database/pipeline.ts';
import type { Queryable } from '../database/transaction.ts';
import type { Kind } from './kinds.ts';
import { type MessageText, messageText } from './message-text.ts';

interface Whose {
  readonly conferenceId: string;
  readonly personId: string;
}

/** A message as its person reads it. */
export interface InboxMessage extends MessageText {
  readonly id: string;
  readonly kind: Kind;
  readonly at: Date;
  readonly read: boolean;
  /** Sent by mail, or waiting for it; else it stands here only. */
  readonly mail: 'sent' | 'waiting' | 'failed' | 'not mailed';
}

/** How many somebody has not read. */
export async function countUnread(asking: Asking, { conferenceId, personId }: Whose): Promise<number> {
  const { rows } = await asking.query<{ unread: number }>({
    name: 'unread messages',
    text: `SELECT count(*)::int AS unread FROM message
            WHERE conference_id = $1 AND person_id = $2 AND read_at IS NULL`,
    values: [conferenceId, personId],
  });
  return rows[0]?.unread ?? 0;
}

interface Wanted {
  readonly unread?: boolean;
  readonly limit: number;
  readonly offset?: number;
}

/** Somebody's messages, the latest first. */
export async function readInbox(
  db: Queryable,
  { conferenceId, personId }: Whose,
  { unread = false, limit, offset = 0 }: Wanted,
): Promise<readonly InboxMessage[]> {
  const { rows } = await db.query<Row>(
    `${select} WHERE m.conference_id = $1 AND m.person_id = $2 AND ($3 OR m.read_at IS NULL)
      ORDER BY m.happened_at DESC, m.id LIMIT $4 OFFSET $5`,
    [conferenceId, personId, !unread, limit, offset],
  );
  return rows.map(inWords);
}

/** One of somebody's own; null when it is not theirs. */
export async function readMessage(
  db: Queryable,
  { conferenceId, personId }: Whose,
  id: string,
): Promise<InboxMessage | null> {
  const { rows } = await db.query<Row>(
    `${select} WHERE m.conference_id = $1 AND m.person_id = $2 AND m.id = $3`,
    [conferenceId, personId, id],
  );
  return rows[0] ? inWords(rows[0]) : null;
}

/** Notes messages as read: this one, or all that are there. Returns how many were not. */
export async function markRead(
  db: Queryable,
  { conferenceId, personId }: Whose,
  id: string | null,
): Promise<number> {
  const { rowCount } = await db.query(
    `UPDATE message SET read_at = now()
      WHERE conference_id = $1 AND person_id = $2 AND ($3::uuid IS NULL OR id = $3) AND read_at IS NULL`,
    [conferenceId, personId, id],
  );
  return rowCount ?? 0;
}

type Row = Pick<InboxMessage, 'id' | 'kind' | 'at' | 'read' | 'mail'> & {
  facts: object;
  aboutId: string | null;
  conference: string;
  timeZone: string;
  name: string;
  email: string;
};

const select = `
  SELECT m.id, m.kind, m.about_id AS "aboutId", m.facts, m.happened_at AS at, m.read_at IS NOT NULL AS read, m.mail,
         c.name AS conference, c.time_zone AS "timeZone", p.given_name || ' ' || p.family_name AS name, p.email
    FROM message m
    JOIN person p ON p.conference_id = m.conference_id AND p.id = m.person_id
    JOIN conference c ON c.id = m.conference_id`;

function inWords({ facts, ...row }: Row): InboxMessage {
  const { id, kind, at, read, mail } = row;
  return { id, kind, at, read, mail, ...messageText(kind, { ...row, ...facts }) };
}
