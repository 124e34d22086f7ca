import { dayAfter, daysBetween } from '../../text/days.ts';
import { InquiryRefused } from './states.ts';

/** What a conference lets teams ask. */
interface Limits {
  /** Inquiries of a team about the games of one week; 0 takes none. */
  readonly aWeek: number;
  /** Hours from kickoff in which a team may ask. */
  readonly windowHours: number;
  /** Days to answer, counted from the day on which it came. */
  readonly answerDays: number;
}

/** Until the third day after kickoff, three a week, answered within five days: common practice, no source. */
export const usualLimits: Limits = { aWeek: 3, windowHours: 72, answerDays: 5 };

const hour = 3600 * 1000;

/** The last moment to ask about a game. */
export const windowEnd = (kickoff: Date, { windowHours }: Pick<Limits, 'windowHours'>): Date =>
  new Date(kickoff.getTime() + windowHours * hour);

/**
 * Whether a team may ask about a game now.
 * @param told how a moment is written, in the game's zone
 * @throws InquiryRefused before kickoff and after the window
 */
export function requireInTime(
  kickoff: Date,
  limits: Pick<Limits, 'windowHours'>,
  now: Date,
  told: (moment: Date) => string,
): void {
  if (now < kickoff)
    throw new InquiryRefused(`This game has not begun: ask once it has, from ${told(kickoff)} on.`, 'gameId');
  const end = windowEnd(kickoff, limits);
  if (now > end)
    throw new InquiryRefused(
      `This is too late: inquiries about this game were taken until ${told(end)}, ${limits.windowHours} hours after kickoff. Write to the coordinator.`,
      'gameId',
    );
}

/**
 * @param sent inquiries of the team about games of that week that were not sent back
 * @throws InquiryRefused when there are as many as the conference takes
 */
export function requireWithinWeek(sent: number, week: number, { aWeek }: Pick<Limits, 'aWeek'>): void {
  if (aWeek === 0) throw new InquiryRefused('The conference takes no inquiries at present.');
  if (sent >= aWeek)
    throw new InquiryRefused(
      `Your team has asked about ${sent} ${sent === 1 ? 'play' : 'plays'} of week ${week}, as many as the conference takes for one week.`,
    );
}

/** The last day to answer (YYYY-MM-DD). @param receivedOn the day it came, in the conference's zone */
export function dueOn(receivedOn: string, { answerDays }: Pick<Limits, 'answerDays'>): string {
  return dayAfter(receivedOn, answerDays);
}

/** Whole days by which it is late; 0 while its day lasts. @param today in the conference's zone */
export const daysOverdue = (due: string, today: string): number => Math.max(0, daysBetween(due, today));
