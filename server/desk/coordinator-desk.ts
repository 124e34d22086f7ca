import { kindWords } from '../messages/kinds.ts';
import { dueOf } from '../reports/review/report-due.ts';
import { weekNow } from '../schedule/week-now.ts';
import { capital, day as shownDay } from '../web/format.ts';
import { ageInWords } from './age.ts';
import type {
  AddressFact,
  InquiryFact,
  MailFact,
  OfferFact,
  PlaceFact,
  ReplyFact,
  ReportFact,
  UnreportedFact,
  WaitingFacts,
  WebhookFact,
} from './coordinator-facts.ts';
import { type Act, type Entry, oldestFirst } from './entry.ts';

/** A place waits from so many days before kickoff on: before the season, its first week is not this week. */
const daysBeforeKickoff = 7;

const day = 24 * 3600 * 1000;

/** What waits for the coordinator, oldest first. */
export function coordinatorWaits(facts: WaitingFacts, now: Date): Entry[] {
  const week = weekNow(facts.weeks, facts.gameDays, facts.today);
  const firstDay = facts.weeks.find(({ number }) => number === week)?.firstDay;
  return oldestFirst([
    ...facts.reports.flatMap((report) => ofReport(report, facts.reportDays, now)),
    ...facts.unreported.flatMap((one) => overdue(one, 'no report begun', facts.reportDays, now)),
    ...facts.places.flatMap((place) => openPlace(place, week, firstDay, now)),
    ...facts.crews.map(
      ({ gameId, game, week: played, kickoff }): Entry => ({
        kind: 'crew',
        title: `Week ${played}: ${game}`,
        href: `/games/${gameId}/crew`,
        says: 'Nobody has confirmed who worked it.',
        since: kickoff,
        acts: [{ label: 'Confirm the crew', href: `/games/${gameId}/crew` }],
      }),
    ),
    ...facts.replies.map(ofReply),
    ...facts.inquiries.map((inquiry) => ofInquiry(inquiry, facts.today)),
    ...facts.offers.map(ofOffer),
    ...facts.mail.map(ofMail),
    ...facts.addresses.map(ofAddress),
    ...facts.webhooks.map((webhook) => ofWebhook(webhook, now)),
  ]);
}

function ofReport(report: ReportFact, reportDays: number, now: Date): Entry[] {
  const about = { title: `Week ${report.week}: ${report.game}`, href: `/reports/${report.id}` };
  const open: Act = { label: 'Open', href: about.href };
  switch (report.state) {
    case 'draft':
      return overdue(report, 'begun, not filed', reportDays, now);
    case 'returned':
      return [
        {
          kind: 'returned',
          ...about,
          says: `Returned to ${report.observer}, not filed again.${lastReminded(report, now)}`,
          since: report.returnedAt ?? report.filedAt ?? report.kickoff,
          acts: [remind(report), open],
        },
      ];
    case 'filed':
      return [
        {
          kind: 'review',
          ...about,
          says: `Filed by ${report.observer}.`,
          since: report.filedAt ?? report.kickoff,
          acts: [{ label: 'Review', href: about.href }],
        },
      ];
    case 'accepted':
      return [
        {
          kind: 'release',
          ...about,
          says: `Report of ${report.observer}, accepted.`,
          since: report.acceptedAt ?? report.filedAt ?? report.kickoff,
          acts: [
            { label: 'Release', post: `/reports/${report.id}/release`, fields: { next: '/desk' } },
            open,
          ],
        },
      ];
  }
}

function overdue(
  one: UnreportedFact & { readonly id?: string },
  how: string,
  reportDays: number,
  now: Date,
): Entry[] {
  const due = dueOf(one.kickoff, reportDays);
  if (due > now) return [];
  const href = one.id === undefined ? `/games/${one.gameId}` : `/reports/${one.id}`;
  return [
    {
      kind: 'overdue',
      title: `Week ${one.week}: ${one.game}`,
      href,
      says: `${one.observer}: ${how}.${lastReminded(one, now)}`,
      since: due,
      acts: [remind(one), { label: 'Open', href }],
    },
  ];
}

/** One click writes the observer a reminder. */
const remind = ({ gameId, observer, observerId }: UnreportedFact): Act => ({
  label: `Remind ${observer}`,
  post: `/games/${gameId}/remind`,
  fields: { observerId, next: '/desk' },
});

const lastReminded = ({ remindedAt }: UnreportedFact, now: Date): string => {
  if (!remindedAt) return '';
  const age = ageInWords(remindedAt, now);
  return ` Reminded ${age === 'just now' ? age : `${age} ago`}.`;
};

/** One for each game. A declined game waits whenever it is played, any other only in this week. */
function openPlace(place: PlaceFact, week: number | null, firstDay: string | undefined, now: Date): Entry[] {
  const lacking = place.wanted - place.standing;
  const played = place.kickoff <= now;
  const isThisWeek =
    place.week === week && place.kickoff.getTime() - now.getTime() <= daysBeforeKickoff * day;
  if (lacking <= 0 || (played && !place.filmAllowed)) return [];
  if (!isThisWeek && (played || place.declined.length === 0)) return [];
  const href = `/observers/games/${place.gameId}/place`;
  const about = {
    title: `Week ${place.week}: ${place.game}`,
    href,
    before: place.kickoff,
    acts: [{ label: played ? 'Note who watched, or ask for film' : 'Choose an observer', href }],
  };
  const many = lacking === 1 ? 'One observer is wanted' : `${lacking} observers are wanted`;
  const wanted = played ? `${many}, to watch it on film` : many;
  if (place.declined.length === 0) {
    const since = firstDay ? new Date(`${firstDay}T00:00:00Z`) : new Date(place.kickoff.getTime() - 7 * day);
    return [{ kind: 'place', ...about, says: `${wanted}.`, since: since < now ? since : now }];
  }
  const who = place.declined
    .map(({ observer, reason }) => `${observer} declined${reason ? ` (${reason})` : ''}`)
    .join(', ');
  const since = new Date(Math.min(...place.declined.map(({ at }) => at.getTime())));
  return [{ kind: 'declined', ...about, says: `${who}. ${wanted}.`, since }];
}

const ofReply = ({ id, official, game, week, play, at }: ReplyFact): Entry => ({
  kind: 'ruling',
  title: `Week ${week}: ${game}`,
  href: `/replies/${id}`,
  says: `${official} answered a mark on play ${play}.`,
  since: at,
  acts: [{ label: 'Rule on it', href: `/replies/${id}` }],
});

function ofMail({ kind, count, name, since, error }: MailFact): Entry {
  const { one, several } = kindWords[kind];
  const what = count === 1 ? `${one} to ${name}` : `${count} ${several}`;
  const href = kind === 'invitation' ? '/people/invitations' : '/mail-trouble';
  return {
    kind: 'mail',
    title: count === 1 ? one : capital(several),
    href,
    says: `${what} could not be sent${error ? `, because ${error}` : ''}.`,
    since,
    acts: [
      { label: 'Send again', post: '/mail-trouble/again', fields: { kind, next: '/desk' } },
      { label: 'Look', href: '/mail-trouble' },
    ],
  };
}

const ofAddress = ({ personId, name, email, since, error }: AddressFact): Entry => ({
  kind: 'mail',
  title: `The address of ${name}`,
  href: `/people/${personId}`,
  says: `Mail to ${email} does not arrive${error ? `: ${error}` : ''}.`,
  since,
  acts: [{ label: 'Correct the address', href: `/people/${personId}` }],
});

function ofWebhook({ id, address, goneAt, givenUp, since, error }: WebhookFact, now: Date): Entry {
  const href = `/settings/webhooks/${id}`;
  const about = { kind: 'webhook', title: `Webhook to ${new URL(address).host}`, href } as const;
  if (goneAt)
    return {
      ...about,
      says: 'It answered 410, gone, and is paused: what happens waits for it.',
      since: goneAt,
      acts: [{ label: 'Correct or remove it', href }],
    };
  return {
    ...about,
    says: `${givenUp === 1 ? 'An event was' : `${givenUp} events were`} not taken for three days${error ? `. ${error}` : ''}.`,
    since: since ?? now,
    acts: [
      { label: 'Send again', post: `${href}/again`, fields: { next: '/desk' } },
      { label: 'Look', href },
    ],
  };
}

function ofInquiry({ id, number, team, game, week, state, at, dueOn }: InquiryFact, today: string): Entry {
  const due = shownDay(new Date(`${dueOn}T00:00:00Z`));
  return {
    kind: 'inquiry',
    title: `Inquiry ${number} of ${team}`,
    href: `/inquiries/${id}`,
    says: `Week ${week}, ${game}; ${state}. ${today > dueOn ? `Overdue since ${due}.` : `Answer by ${due}.`}`,
    since: at,
    acts: [{ label: state === 'received' ? 'Take it up' : 'Go on', href: `/inquiries/${id}` }],
  };
}

function ofOffer({ selectionId, gameId, game, slot, official, answer, at, chosen }: OfferFact): Entry {
  const href = `/postseason/${selectionId}/offers#game-${gameId}`;
  const about = { title: `${game}: ${slot}`, href, since: at };
  if (answer === null)
    return {
      kind: 'offer',
      ...about,
      says: `${official} has not answered the offer in time. You decide: more time, an answer by telephone, or withdraw it.`,
      acts: [{ label: 'Look at the offers', href }],
    };
  const why = {
    declined: `${official} declined.`,
    withdrawn: `The offer to ${official} was withdrawn.`,
    'moved up': `${official} moved up from it to another place of the game.`,
  }[answer];
  return {
    kind: 'free place',
    ...about,
    says: `${why} ${chosen ? `${chosen} is chosen and was not offered it yet.` : 'Nobody is chosen in their place yet.'}`,
    acts: [{ label: chosen ? 'Offer it' : 'Fill the place', href }],
  };
}
