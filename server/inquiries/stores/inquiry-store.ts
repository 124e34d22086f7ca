import type { Queryable } from '../../database/transaction.ts';
import { openInquiryStates } from '../../schedule/open-states.ts';
import { conflict, notFound } from '../../web/problem.ts';
import type { Category, Ruling, SentBackBecause } from '../rules/categories-and-rulings.ts';
import type { InquiryState } from '../rules/states.ts';
import type { PlainPlay } from '../rules/which-play.ts';

/** What a team was answered. */
interface Answer {
  /** 2 after a reopening. */
  readonly round: number;
  readonly ruling: Ruling;
  readonly rule: string;
  readonly reason: string;
  readonly answeredAt: Date;
  /** False once the letter is no longer kept. */
  readonly letter: boolean;
}

export interface Inquiry {
  readonly id: string;
  readonly seasonId: string;
  readonly season: string;
  readonly closedSeason: boolean;
  readonly gameId: string;
  /** "Visitor at Home". */
  readonly game: string;
  readonly week: number;
  readonly kickoff: Date;
  readonly timeZone: string;
  readonly teamId: string;
  readonly team: string;
  /** Within the season; null of a draft. */
  readonly number: number | null;
  readonly state: InquiryState;
  readonly category: Category | '';
  readonly quarter: number | null;
  readonly clockSeconds: number | null;
  readonly play: PlainPlay | null;
  readonly film: string;
  readonly question: string;
  readonly madeBy: string;
  readonly madeAt: Date;
  readonly receivedAt: Date | null;
  /** The last day to answer it, YYYY-MM-DD. */
  readonly dueOn: string | null;
  readonly takenUpBy: string | null;
  readonly sentBackBecause: SentBackBecause | null;
  readonly sentBackReason: string;
  readonly sentBackAt: Date | null;
  readonly decisive: boolean;
  readonly newFilm: string;
  readonly reopenedAt: Date | null;
  readonly releasedAt: Date | null;
  readonly closedAt: Date | null;
  readonly version: number;
  readonly answers: readonly Answer[];
}

type Row = Omit<Inquiry, 'play' | 'answers'> & {
  play: PlainPlay | null;
  answers: (Omit<Answer, 'answeredAt'> & { answeredAt: string })[];
};

const select = `
  SELECT i.id, i.season_id AS "seasonId", s.name AS season, s.state = 'closed' AS "closedSeason", i.game_id AS "gameId",
         t.title AS game, g.week, g.kickoff, v.time_zone AS "timeZone", i.team_id AS "teamId", m.name AS team, i.number,
         i.state, i.category, i.quarter, i.clock_seconds AS "clockSeconds", i.film, i.question, i.made_by AS "madeBy",
         i.made_at AS "madeAt", i.received_at AS "receivedAt", to_char(i.due_on, 'YYYY-MM-DD') AS "dueOn",
         i.taken_up_by AS "takenUpBy", i.sent_back_because AS "sentBackBecause",
         i.sent_back_reason AS "sentBackReason", i.sent_back_at AS "sentBackAt", i.decisive, i.new_film AS "newFilm",
         i.reopened_at AS "reopenedAt", i.released_at AS "releasedAt", i.closed_at AS "closedAt", i.version,
         CASE WHEN l.id IS NOT NULL THEN jsonb_build_object('playId', l.id, 'quarter', l.quarter,
              'clockSeconds', l.clock_seconds, 'down', l.down, 'distance', l.distance, 'kind', l.kind) END AS play,
         coalesce((SELECT jsonb_agg(jsonb_build_object('round', a.round, 'ruling', a.ruling, 'rule', a.rule,
                          'reason', a.reason, 'answeredAt', a.answered_at, 'letter', a.pdf IS NOT NULL) ORDER BY a.round)
                     FROM inquiry_answer a
                    WHERE a.conference_id = i.conference_id AND a.inquiry_id = i.id), '[]') AS answers
    FROM inquiry i
    JOIN season s ON s.conference_id = i.conference_id AND s.id = i.season_id
    JOIN game g ON g.conference_id = i.conference_id AND g.id = i.game_id
    JOIN game_teams t ON t.conference_id = i.conference_id AND t.game_id = i.game_id
    JOIN venue v ON v.conference_id = g.conference_id AND v.id = g.venue_id
    JOIN team m ON m.conference_id = i.conference_id AND m.id = i.team_id
    LEFT JOIN play l ON l.conference_id = i.conference_id AND l.id = i.play_id`;

const inquiryOf = (row: Row): Inquiry => ({
  ...row,
  answers: row.answers.map((answer) => ({ ...answer, answeredAt: new Date(answer.answeredAt) })),
});

/** A team's inquiries of all seasons with its drafts, the newest first. */
export async function inquiriesOfTeam(
  db: Queryable,
  conferenceId: string,
  teamId: string,
): Promise<Inquiry[]> {
  const { rows } = await db.query<Row>(
    `${select} WHERE i.conference_id = $1 AND i.team_id = $2
      ORDER BY i.state <> 'draft', coalesce(i.received_at, i.made_at) DESC, i.id`,
    [conferenceId, teamId],
  );
  return rows.map(inquiryOf);
}

/** Those of a season that teams have sent, what is due first in front, then the newest. */
export async function inquiriesOfSeason(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
): Promise<Inquiry[]> {
  const { rows } = await db.query<Row>(
    `${select} WHERE i.conference_id = $1 AND i.season_id = $2 AND i.state <> 'draft'
      ORDER BY i.state NOT IN ${openInquiryStates},
               CASE WHEN i.state IN ${openInquiryStates} THEN i.due_on END, i.number DESC`,
    [conferenceId, seasonId],
  );
  return rows.map(inquiryOf);
}

/** @throws Problem 404 when the conference has no such inquiry */
export async function readInquiry(
  db: Queryable,
  conferenceId: string,
  inquiryId: string,
  lock: 'lock' | null = null,
): Promise<Inquiry> {
  if (lock)
    await db.query('SELECT FROM inquiry WHERE conference_id = $1 AND id = $2 FOR UPDATE', [
      conferenceId,
      inquiryId,
    ]);
  const { rows } = await db.query<Row>(`${select} WHERE i.conference_id = $1 AND i.id = $2`, [
    conferenceId,
    inquiryId,
  ]);
  if (!rows[0]) throw notFound('inquiry');
  return inquiryOf(rows[0]);
}

/** @param seen the version somebody acts upon; null where they say none. @throws Problem 409 when it is another by now */
export function requireSeen(
  { version, state }: Pick<Inquiry, 'version' | 'state'>,
  seen: number | null,
): void {
  if (seen === null || seen === version) return;
  throw conflict(
    state === 'answered'
      ? 'This inquiry is answered, as it stands here. Nothing was sent a second time.'
      : 'Somebody changed this inquiry while you had it before you: look at it as it is now. What you sent was not done.',
  );
}

/** 1, or 2 once it was reopened. */
export const roundOf = ({ reopenedAt }: Pick<Inquiry, 'reopenedAt'>): 1 | 2 => (reopenedAt === null ? 1 : 2);

/** The plays of a game as both teams saw them, in their order. */
export async function plainPlaysOf(
  db: Queryable,
  conferenceId: string,
  gameId: string,
): Promise<PlainPlay[]> {
  const { rows } = await db.query<PlainPlay>(
    `SELECT id AS "playId", quarter, clock_seconds AS "clockSeconds", down, distance, kind FROM play
      WHERE conference_id = $1 AND game_id = $2 AND removed_at IS NULL ORDER BY number`,
    [conferenceId, gameId],
  );
  return rows;
}
