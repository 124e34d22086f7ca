import { z } from 'zod';

/** What an address can be told of, as bodies name it, and what each means. */
export const events = {
  'report.released': {
    title: 'Report released',
    means: 'A coordinator released a report: its officials can read their evaluation of the game.',
  },
  'reply.written': {
    title: 'Mark answered',
    means: 'An official answered a mark of a released report; the reply waits for a ruling.',
  },
  'reply.ruled': {
    title: 'Reply ruled on',
    means:
      'A coordinator ruled on a reply; where the mark was changed or withdrawn, the report is a new revision.',
  },
} as const;
export type EventName = keyof typeof events;
export const eventNames = Object.keys(events) as [EventName, ...EventName[]];

/** Sent by the button that tries an address; no address is told of anything by it. */
export const testEvent = 'webhook.test';
export type SentEvent = EventName | typeof testEvent;

export const titleOf = (event: SentEvent): string => (event === testEvent ? 'Test' : events[event].title);

/** Ids of what an event is about, kept as it happened. None is a person's. */
export interface Facts {
  readonly seasonId?: string;
  readonly gameId?: string;
  readonly reportId?: string;
  readonly replyId?: string;
}

const conferenceId = z.uuid();
const ofReport = z.object({
  conferenceId,
  seasonId: z.uuid(),
  gameId: z.uuid(),
  reportId: z.uuid(),
  page: z.url().describe('Where a person who may reads of it, signed in.'),
  report: z.url().describe('Where a program with a token reads the report.'),
});
const dataOf = {
  'report.released': ofReport,
  'reply.written': ofReport.extend({ replyId: z.uuid() }),
  'reply.ruled': ofReport.extend({ replyId: z.uuid() }),
  [testEvent]: z.object({ conferenceId, page: z.url() }),
} as const satisfies Record<SentEvent, z.ZodType>;

/** What is sent for an event: ids and links, never a mark, a grade, a name or a text. */
export const bodySchema = (event: SentEvent) =>
  z.object({
    type: z.literal(event),
    timestamp: z.iso.datetime().describe('When it happened; it may be sent much later.'),
    data: dataOf[event],
  });

interface Happened {
  readonly conferenceId: string;
  readonly webhookId: string;
  readonly event: SentEvent;
  readonly facts: Facts;
  readonly happenedAt: Date;
}

/**
 * The body of an event as JSON, the same at every try.
 * @param address what links begin with
 */
export function bodyOf(
  { conferenceId, webhookId, event, facts, happenedAt }: Happened,
  address: string,
): string {
  const { seasonId, gameId, reportId, replyId } = facts;
  const data =
    event === testEvent
      ? { conferenceId, page: `${address}/settings/webhooks/${webhookId}` }
      : {
          ...{ conferenceId, seasonId, gameId, reportId, replyId },
          page: replyId === undefined ? `${address}/reports/${reportId}` : `${address}/replies/${replyId}`,
          report: `${address}/api/reports/${reportId}`,
        };
  return JSON.stringify({ type: event, timestamp: happenedAt.toISOString(), data });
}
