import type { FastifyInstance } from 'fastify';
import { inTransaction, type Queryable } from '../database/transaction.ts';
import { type Mail, type Mailer, makeMailer, publicAddress } from '../mail/mailer.ts';
import type { Mode } from '../planning/planning-problem.ts';
import { inWords } from '../planning/rules.ts';
import { moment } from '../web/format.ts';
import { type Answer, calendarOf } from './calendar/calendar.ts';
import { newAnswerLink } from './calendar/secret-addresses.ts';

type Application = Pick<FastifyInstance, 'database' | 'settings'>;

interface DueRow {
  id: string;
  conference_id: string;
  conference: string;
  how: Mode;
  answer: 'offered' | 'accepted' | 'declined';
  withdrawn: boolean;
  revision: number;
  changed_at: Date;
  kickoff: Date;
  time_zone: string;
  home: string;
  visitor: string;
  venue: string;
  latitude: number;
  longitude: number;
  name: string;
  email: string;
}

/** What a mail about an assignment is for. */
type Purpose = 'offer' | 'withdrawal' | 'reminder';

const dueColumns = `
  a.id, a.conference_id, k.name AS conference, a.how, a.answer, a.withdrawn_at IS NOT NULL AS withdrawn, a.revision,
  a.changed_at, g.kickoff, v.time_zone, teams.home, teams.visitor, v.name AS venue, v.latitude, v.longitude,
  p.given_name || ' ' || p.family_name AS name, p.email`;
const dueTables = `
  observer_assignment a
  JOIN conference k ON k.id = a.conference_id
  JOIN game g ON g.conference_id = a.conference_id AND g.id = a.game_id
  JOIN venue v ON v.conference_id = g.conference_id AND v.id = g.venue_id
  JOIN game_teams teams ON teams.conference_id = g.conference_id AND teams.game_id = g.id
  JOIN person p ON p.conference_id = a.conference_id AND p.id = a.observer_id AND p.active`;

interface Told {
  readonly sent: number;
  readonly failed: number;
  readonly reason: string;
}

/**
 * Sends each observer of a week the offers and withdrawals not yet told. Without an SMTP server nothing is sent:
 * observers find their offers on their page. A failed mail stays untold and is tried again the next time.
 */
export async function tellObservers(app: Application, conferenceId: string, week: number): Promise<Told> {
  return sendEach(app, (client) =>
    client
      .query<DueRow>(
        `SELECT ${dueColumns} FROM ${dueTables}
          WHERE a.conference_id = $1 AND g.week = $2
            AND ((a.answer = 'offered' AND a.told_at IS NULL)
                 OR (a.withdrawn_at IS NOT NULL AND a.told_at < a.withdrawn_at))
          ORDER BY p.email, g.kickoff LIMIT 1 FOR UPDATE OF a SKIP LOCKED`,
        [conferenceId, week],
      )
      .then(({ rows }) => rows[0]),
  );
}

/** Days that an offer may wait for its answer, and before a kickoff, when a reminder goes out. Once each. */
const daysUnanswered = 3;
const daysBeforeKickoff = 3;

/** Sends the reminders that are due in all conferences. Several servers may run it: each mail goes out once. */
export async function remindObservers(app: Application): Promise<Told> {
  return sendEach(
    app,
    (client) =>
      client
        .query<DueRow>(
          `SELECT ${dueColumns} FROM ${dueTables}
            WHERE g.kickoff > now() AND a.reminded_at IS NULL
              AND NOT EXISTS (SELECT FROM season s WHERE s.conference_id = g.conference_id AND s.id = g.season_id
                                 AND s.state = 'closed')
              AND ((a.answer = 'offered' AND a.told_at < now() - make_interval(days => $1))
                   OR (a.answer = 'accepted' AND g.kickoff < now() + make_interval(days => $2)))
            ORDER BY g.kickoff, a.id LIMIT 1 FOR UPDATE OF a SKIP LOCKED`,
          [daysUnanswered, daysBeforeKickoff],
        )
        .then(({ rows }) => rows[0]),
    'reminder',
  );
}

async function sendEach(
  app: Application,
  next: (client: Queryable) => Promise<DueRow | undefined>,
  reminder?: 'reminder',
): Promise<Told> {
  const mailer = makeMailer(app.settings);
  if (!mailer) return { sent: 0, failed: 0, reason: '' };
  let sent = 0;
  try {
    for (;;) {
      const done = await inTransaction(app.database.pool, async (client) => {
        const due = await next(client);
        if (!due) return true;
        await sendOne(app, client, mailer, due, reminder ?? (due.withdrawn ? 'withdrawal' : 'offer'));
        return false;
      });
      if (done) break;
      sent += 1;
    }
    return { sent, failed: 0, reason: '' };
  } catch (error) {
    return { sent, failed: 1, reason: error instanceof Error ? error.message : String(error) };
  } finally {
    mailer.close();
  }
}

async function sendOne(app: Application, client: Queryable, mailer: Mailer, due: DueRow, purpose: Purpose) {
  const address = publicAddress(app.settings);
  const link =
    due.answer === 'offered'
      ? `${address}/answer/${await newAnswerLink(client, due.conference_id, due.id)}`
      : null;
  // Marked first: when the mail server refuses, the transaction takes the mark back.
  await client.query(
    `UPDATE observer_assignment SET ${purpose === 'reminder' ? 'reminded_at' : 'told_at'} = now()
      WHERE conference_id = $1 AND id = $2`,
    [due.conference_id, due.id],
  );
  await mailer.send(mailOf(due, purpose, link, address, app.settings.MAIL_FROM));
}

function mailOf(due: DueRow, purpose: Purpose, link: string | null, address: string, from: string): Mail {
  const game = `${due.visitor} at ${due.home}`;
  const when = moment(due.kickoff, due.time_zone);
  const subject = {
    offer: `Will you observe ${game}?`,
    withdrawal: `Taken back: ${game}`,
    reminder: due.answer === 'offered' ? `Please answer: ${game}` : `Coming up: ${game}`,
  }[purpose];
  const lines = [
    `Dear ${due.name},`,
    '',
    {
      offer: `the ${due.conference} would like you to observe this game ${inWords(due.how)}:`,
      withdrawal: `the ${due.conference} no longer needs you on this game:`,
      reminder:
        due.answer === 'offered'
          ? `the ${due.conference} is waiting for your answer on this game:`
          : `you accepted to observe this game ${inWords(due.how)}:`,
    }[purpose],
    '',
    `  ${game}`,
    `  ${when}`,
    `  ${due.venue}`,
    '',
    ...(link ? ['Accept or decline here, no sign-in needed:', link, ''] : []),
    `All your assignments: ${address}/my/assignments`,
  ];
  const answer: Answer = due.withdrawn ? 'withdrawn' : due.answer;
  const method = due.withdrawn ? 'CANCEL' : 'REQUEST';
  const content = calendarOf(
    due.conference,
    [
      {
        id: due.id,
        answer,
        mode: due.how,
        homeTeam: due.home,
        awayTeam: due.visitor,
        venue: due.venue,
        place: { latitude: due.latitude, longitude: due.longitude },
        kickoff: due.kickoff,
        revision: due.revision,
        changedAt: due.changed_at,
        url: link,
      },
    ],
    method,
    {
      organizer: { name: due.conference, email: from.match(/<([^>]+)>/)?.[1] ?? from },
      attendee: { name: due.name, email: due.email },
    },
  );
  return {
    to: { name: due.name, address: due.email },
    subject,
    text: lines.join('\n'),
    ...(purpose === 'reminder' ? {} : { icalEvent: { method, filename: 'game.ics', content } }),
  };
}
