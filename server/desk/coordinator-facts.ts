import type { ChancesKept } from '../duties/report-shares.ts';
import type { Kind as MessageKind } from '../messages/kinds.ts';
import type { SeasonWeek } from '../schedule/season-weeks.ts';

type OfGame = {
  readonly gameId: string;
  readonly game: string;
  readonly week: number;
  readonly kickoff: Date;
};
type ByObserver = {
  readonly observer: string;
  readonly observerId: string;
  /** When the observer was last reminded of the report. */
  readonly remindedAt: Date | null;
};

/** A report that is not released. */
export interface ReportFact extends OfGame, ByObserver {
  readonly id: string;
  readonly state: 'draft' | 'filed' | 'returned' | 'accepted';
  readonly filedAt: Date | null;
  readonly acceptedAt: Date | null;
  readonly returnedAt: Date | null;
}

/** A filed or accepted report, with what it kept of chances. */
export interface LogFact extends OfGame {
  readonly id: string;
  readonly filedAt: Date;
  readonly kept: ChancesKept;
  /** Duties, each at a position, that do not count because the log gives too little of them. */
  readonly leftOut: number;
}

/** An accepted assignment to a game that has kicked off, without a report. */
export interface UnreportedFact extends OfGame, ByObserver {}

/** A game without a report that has fewer observers than are wanted. */
export interface PlaceFact extends OfGame {
  readonly wanted: number;
  /** Accepted, or offered and still to be answered: an offer to be there passes at kickoff. */
  readonly standing: number;
  readonly filmAllowed: boolean;
  readonly declined: readonly { readonly observer: string; readonly reason: string; readonly at: Date }[];
}

export interface ReplyFact {
  readonly id: string;
  readonly official: string;
  readonly game: string;
  readonly week: number;
  readonly play: number;
  readonly at: Date;
}

/** An inquiry of a team that is not answered. */
export interface InquiryFact {
  readonly id: string;
  readonly number: number;
  readonly team: string;
  readonly game: string;
  readonly week: number;
  readonly state: string;
  readonly at: Date;
  /** The last day to answer it, YYYY-MM-DD. */
  readonly dueOn: string;
}

/** A place of a game after the season whose last offer was not answered in time, declined or withdrawn, or left by who moved up. */
export interface OfferFact {
  readonly selectionId: string;
  readonly gameId: string;
  readonly game: string;
  readonly slot: string;
  /** Who was offered it. */
  readonly official: string;
  readonly answer: 'declined' | 'withdrawn' | 'moved up' | null;
  /** When it was answered; without an answer, when the time for one was over. */
  readonly at: Date;
  /** Who is chosen for it since and was not offered it yet. */
  readonly chosen: string | null;
}

/** Letters of a kind that should be made again, for one reason. */
export interface LetterFact {
  readonly kind: 'mid-season' | 'end-of-season';
  readonly because: 'template' | 'figures' | 'ruling';
  readonly count: number;
  /** Whose, when it is one letter. */
  readonly official: string;
  readonly since: Date;
}

/** An open development point. */
export interface PointFact {
  readonly id: string;
  readonly official: string;
  readonly duty: string;
  /** How it is done well; empty where the rubric does not say. */
  readonly guidance: string;
  readonly openedAt: Date;
  /** A conversation or a letter is noted. */
  readonly told: boolean;
  /** Kickoffs of the official's released games with chances in the duty after the last step, in order. */
  readonly gamesSince: readonly Date[];
}

/** Mails of a kind that were given up. */
export interface MailFact {
  readonly kind: MessageKind;
  readonly count: number;
  /** To whom, when it is one. */
  readonly name: string;
  readonly since: Date;
  readonly error: string;
}

/** An address that the mail server refused for good, of somebody to whom no mail failed since. */
export interface AddressFact {
  readonly personId: string;
  readonly name: string;
  readonly email: string;
  readonly since: Date;
  readonly error: string;
}

/** An address that could not be told of events for three days, or that said it is gone. */
export interface WebhookFact {
  readonly id: string;
  readonly address: string;
  /** When it said that it is gone, and was paused; null when it did not. */
  readonly goneAt: Date | null;
  readonly givenUp: number;
  /** Of the first that was given up. */
  readonly since: Date | null;
  /** Of the last, a sentence without its full stop. */
  readonly error: string;
}

/** What a coordinator's list of what waits is worked out from: one season, and what is the conference's. */
export interface WaitingFacts {
  readonly seasonId: string;
  readonly weeks: readonly SeasonWeek[];
  /** Week and day (YYYY-MM-DD, at the venue) of each game. */
  readonly gameDays: readonly { readonly week: number; readonly day: string }[];
  /** Today in the conference's zone, YYYY-MM-DD. */
  readonly today: string;
  /** Within how many days of kickoff a report is to be filed. */
  readonly reportDays: number;
  readonly reports: readonly ReportFact[];
  readonly unreported: readonly UnreportedFact[];
  readonly places: readonly PlaceFact[];
  /** Games that have kicked off, without a confirmed crew. */
  readonly crews: readonly OfGame[];
  readonly replies: readonly ReplyFact[];
  readonly inquiries: readonly InquiryFact[];
  readonly offers: readonly OfferFact[];
  readonly mail: readonly MailFact[];
  readonly addresses: readonly AddressFact[];
  readonly webhooks: readonly WebhookFact[];
}

/** What the list of what is worth a look is worked out from. Takes longer to read, so no menu counts it. */
export interface LookFacts {
  readonly seasonId: string;
  /** Least share of a duty's chances that a log must give, as the conference sets it. */
  readonly leastShare: number;
  readonly logs: readonly LogFact[];
  readonly letters: readonly LetterFact[];
  readonly points: readonly PointFact[];
}
