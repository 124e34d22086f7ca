import { weekNow } from '../schedule/week-now.ts';
import type {
  MailFact,
  PlaceFact,
  ReplyFact,
  ReportFact,
  UnreportedFact,
  WaitingFacts,
} from './coordinator-facts.ts';
import { type Act, type Entry, oldestFirst } from './entry.ts';

/** A report is overdue this many days after kickoff. */
export const daysToReport = 3;

/** A place waits from so many days before kickoff on: before the season, its first week is not this week. */
const daysBeforeKickoff = 7;

const day = 24 * 3600 * 1000;

/** What waits for the coordinator, oldest first. */
export function coordinatorWaits(facts: WaitingFacts, now: Date): Entry[] {
  const week = weekNow(facts.weeks, facts.gameDays, facts.today);
  const firstDay = facts.weeks.find(({ number }) => number === week)?.firstDay;
  return oldestFirst([
    ...facts.reports.flatMap((report) => ofReport(report, now)),
    ...facts.unreported.flatMap((one) => overdue(one, 'no report begun', now)),
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
    ...facts.mail.map((mail) => ofMail(mail, facts.seasonId)),
  ]);
}

function ofReport(report: ReportFact, now: Date): Entry[] {
  const about = { title: `Week ${report.week}: ${report.game}`, href: `/reports/${report.id}` };
  const open: Act = { label: 'Open', href: about.href };
  switch (report.state) {
    case 'draft':
      return overdue(report, 'begun, not filed', now);
    case 'returned':
      return [
        {
          kind: 'returned',
          ...about,
          says: `Returned to ${report.observer}, not filed again.`,
          since: report.returnedAt ?? report.filedAt ?? report.kickoff,
          acts: [writeTo(report, `Returned report: ${report.game}`), open],
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

function overdue(one: UnreportedFact & { readonly id?: string }, how: string, now: Date): Entry[] {
  const due = new Date(one.kickoff.getTime() + daysToReport * day);
  if (due > now) return [];
  const href = one.id === undefined ? `/games/${one.gameId}` : `/reports/${one.id}`;
  return [
    {
      kind: 'overdue',
      title: `Week ${one.week}: ${one.game}`,
      href,
      says: `${one.observer}: ${how}.`,
      since: due,
      acts: [writeTo(one, `Your report: ${one.game}`), { label: 'Open', href }],
    },
  ];
}

/** A message in the coordinator's own mail program. */
const writeTo = ({ observer, email }: { observer: string; email: string }, subject: string): Act => ({
  label: `Write to ${observer}`,
  href: `mailto:${encodeURIComponent(email).replace('%40', '@')}?subject=${encodeURIComponent(subject)}`,
});

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
    acts: [{ label: 'Choose an observer', href }],
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

function ofMail({ what, count, since, error }: MailFact, seasonId: string): Entry {
  const about = { kind: 'mail', since } as const;
  const could = (one: string, several: string) =>
    `${count === 1 ? one : `${count} ${several}`} could not be sent${error ? `, because ${error}` : ''}.`;
  if (what === 'invitation') {
    const href = '/people/invitations';
    const says = could('An invitation', 'invitations');
    return { ...about, title: 'Invitations', href, says, acts: [{ label: 'Send again', href }] };
  }
  const href = `/seasons/${seasonId}/letters?kind=${what}`;
  return {
    ...about,
    title: what === 'mid-season' ? 'Mid-season letters' : 'End-of-season letters',
    href,
    says: could('A letter', 'letters'),
    acts: [
      { label: 'Try again', post: `/seasons/${seasonId}/letters/send-again`, fields: { kind: what } },
      { label: 'Letters', href },
    ],
  };
}
