import type { PersonActing } from '../../accounts/acting.ts';
import { appendAudit } from '../../accounts/audit/audit.ts';
import type { Queryable } from '../../database/transaction.ts';
import { moment } from '../../web/format.ts';
import { notFound } from '../../web/problem.ts';
import { dayIn } from '../../web/today.ts';
import { tellOfInquiry } from '../inquiry-messages.ts';
import type { Category } from '../rules/categories-and-rulings.ts';
import { dueOn, requireInTime, requireWithinWeek } from '../rules/limits.ts';
import { InquiryRefused, stateAfter } from '../rules/states.ts';
import { playAskedAbout } from '../rules/which-play.ts';
import { askedBefore, sentAbout } from './asked-store.ts';
import { type Inquiry, plainPlaysOf, readInquiry } from './inquiry-store.ts';
import { readInquirySetting } from './setting-store.ts';
import { gamesOfTeam, type TeamGame, teamOf } from './team-store.ts';

/** What a contact writes. A draft may lack any of it but the game. */
export interface Written {
  readonly gameId: string;
  readonly playId: string | null;
  readonly quarter: number | null;
  readonly clockSeconds: number | null;
  /** None of the nearest plays of the log is meant. */
  readonly notInLog: boolean;
  readonly category: Category | null;
  readonly film: string;
  readonly question: string;
}

type Contact = PersonActing & { readonly timeZone: string };

/** @throws InquiryRefused when nobody has said for which team, the game is another's, or its season is closed */
async function ownGame(
  client: Queryable,
  acting: PersonActing,
  gameId: string,
): Promise<TeamGame & { teamId: string }> {
  const team = await teamOf(client, acting.conferenceId, acting.personId);
  if (!team)
    throw new InquiryRefused('Nobody has said yet for which team you ask. Write to the coordinator.');
  const [game] = await gamesOfTeam(client, acting.conferenceId, team.id, gameId);
  if (!game)
    throw new InquiryRefused(`This is no game of ${team.name}: a team asks about its own games.`, 'gameId');
  if (game.closed)
    throw new InquiryRefused(
      `Season ${game.season} is closed: nothing is asked about its games any more.`,
      'gameId',
    );
  return { ...game, teamId: team.id };
}

/**
 * Keeps a new draft.
 * @returns its id
 * @throws InquiryRefused
 */
export async function makeDraft(client: Queryable, acting: PersonActing, written: Written): Promise<string> {
  const { conferenceId, personId } = acting;
  const game = await ownGame(client, acting, written.gameId);
  const { rows } = await client.query<{ id: string }>(
    `INSERT INTO inquiry (conference_id, season_id, game_id, team_id, state, made_by) VALUES ($1, $2, $3, $4, 'draft', $5)
     RETURNING id`,
    [conferenceId, game.seasonId, game.gameId, game.teamId, personId],
  );
  const { id } = rows[0]!;
  await writeFields(client, acting, id, written);
  return id;
}

/** @throws InquiryRefused once it is sent, and when it is to be about a game that is not the team's */
export async function changeDraft(
  client: Queryable,
  acting: PersonActing,
  inquiryId: string,
  written: Written,
): Promise<void> {
  const { state } = await readInquiry(client, acting.conferenceId, inquiryId, 'lock');
  if (state !== 'draft') throw new InquiryRefused(`This inquiry is ${state}; only a draft can be changed.`);
  const game = await ownGame(client, acting, written.gameId);
  await client.query('UPDATE inquiry SET season_id = $3, game_id = $4 WHERE conference_id = $1 AND id = $2', [
    acting.conferenceId,
    inquiryId,
    game.seasonId,
    game.gameId,
  ]);
  await writeFields(client, acting, inquiryId, written);
}

async function writeFields(
  client: Queryable,
  { conferenceId }: PersonActing,
  inquiryId: string,
  written: Written,
) {
  const plays = await plainPlaysOf(client, conferenceId, written.gameId);
  // A draft is kept as far as it goes; whether its play is there is told when it is sent.
  const play = plays.find(({ playId }) => playId === written.playId);
  await client.query(
    `UPDATE inquiry SET play_id = $3, quarter = $4, clock_seconds = $5, category = $6, film = $7, question = $8
      WHERE conference_id = $1 AND id = $2`,
    [
      ...[conferenceId, inquiryId, play?.playId ?? null],
      ...[play?.quarter ?? written.quarter, play?.clockSeconds ?? written.clockSeconds],
      ...[written.category ?? '', written.film, written.question],
    ],
  );
}

/** @throws InquiryRefused once it is sent */
export async function removeDraft(client: Queryable, acting: PersonActing, inquiryId: string): Promise<void> {
  const { state } = await readInquiry(client, acting.conferenceId, inquiryId, 'lock');
  if (state !== 'draft')
    throw new InquiryRefused(`This inquiry is ${state}; only a draft can be thrown away.`);
  await client.query('DELETE FROM inquiry WHERE conference_id = $1 AND id = $2', [
    acting.conferenceId,
    inquiryId,
  ]);
}

/**
 * Sends a draft to the conference: it gets its number and the day on which it is due, and the coordinators are told.
 * What the team has asked already, word for word, is one inquiry: the draft goes.
 *
 * @param written what was chosen and is not kept: a play that is not in the log, or that none of the nearest is meant
 * @returns the inquiry, or the one that asked the same before
 * @throws InquiryRefused naming the field, with everything kept as the draft has it
 */
export async function sendInquiry(
  client: Queryable,
  acting: Contact,
  inquiryId: string,
  written: Pick<Written, 'playId' | 'notInLog'>,
): Promise<Inquiry> {
  const { conferenceId, personId } = acting;
  const now = acting.at ?? new Date();
  const draft = await readInquiry(client, conferenceId, inquiryId, 'lock');
  stateAfter(draft.state, 'send');
  const game = await ownGame(client, acting, draft.gameId);
  if (draft.category === '') throw new InquiryRefused('Choose what it is about.', 'category');
  if (draft.question === '') throw new InquiryRefused('Write your question.', 'question');
  const setting = await readInquirySetting(client, conferenceId);
  requireInTime(game.kickoff, setting, now, (at) => moment(at, game.timeZone));
  const play = playAskedAbout(await plainPlaysOf(client, conferenceId, game.gameId), {
    playId: draft.play?.playId ?? written.playId,
    quarter: draft.quarter,
    clockSeconds: draft.clockSeconds,
    notInLog: written.notInLog,
  });
  if (play) await holdPlay(client, conferenceId, play.playId);
  // One inquiry of a season after the other: numbers and the limit of a week.
  await client.query("SELECT pg_advisory_xact_lock(hashtextextended('inquiries ' || $1 || $2, 0))", [
    conferenceId,
    game.seasonId,
  ]);
  const before = await askedBefore(client, conferenceId, draft, play?.playId ?? null);
  if (before !== null) {
    await removeDraft(client, acting, inquiryId);
    return readInquiry(client, conferenceId, before);
  }
  requireWithinWeek(await sentAbout(client, conferenceId, game), game.week, setting);
  await client.query(
    `UPDATE inquiry SET state = 'received', play_id = $3, quarter = coalesce($4, quarter),
            clock_seconds = coalesce($5, clock_seconds), received_at = $6, due_on = $7, version = version + 1,
            number = (SELECT coalesce(max(n.number), 0) + 1 FROM inquiry n
                       WHERE n.conference_id = $1 AND n.season_id = $8)
      WHERE conference_id = $1 AND id = $2`,
    [
      ...[
        conferenceId,
        inquiryId,
        play?.playId ?? null,
        play?.quarter ?? null,
        play?.clockSeconds ?? null,
        now,
      ],
      ...[dueOn(dayIn(acting.timeZone, now), setting), game.seasonId],
    ],
  );
  const sent = await readInquiry(client, conferenceId, inquiryId);
  await tellOfInquiry(client, acting, sent, 'new');
  await appendAudit(client, {
    ...{
      conferenceId,
      actorId: personId,
      action: 'inquiry received',
      subjectKind: 'inquiry',
      subjectId: inquiryId,
    },
    after: { number: sent.number, category: sent.category, dueOn: sent.dueOn },
  });
  return sent;
}

/** No edition is released with the play until the inquiry is there to be seen. */
const holdPlay = (client: Queryable, conferenceId: string, playId: string) =>
  client.query('SELECT FROM play WHERE conference_id = $1 AND id = $2 FOR NO KEY UPDATE', [
    conferenceId,
    playId,
  ]);

/**
 * Takes an answered inquiry up again, once, because there is new film.
 * @throws InquiryRefused without new film, the second time, and in another state
 */
export async function reopenInquiry(
  client: Queryable,
  acting: Contact,
  inquiryId: string,
  newFilm: string,
): Promise<void> {
  const { conferenceId, personId } = acting;
  const now = acting.at ?? new Date();
  const inquiry = await readInquiry(client, conferenceId, inquiryId, 'lock');
  if (inquiry.closedSeason)
    throw new InquiryRefused(`Season ${inquiry.season} is closed: nothing is reopened in it any more.`);
  const state = stateAfter(inquiry.state, 'reopen', inquiry.reopenedAt !== null);
  if (newFilm === '')
    throw new InquiryRefused(
      'Say where the new film is: an inquiry is reopened for new film only.',
      'newFilm',
    );
  const setting = await readInquirySetting(client, conferenceId);
  if (inquiry.play) await holdPlay(client, conferenceId, inquiry.play.playId);
  await client.query(
    `UPDATE inquiry SET state = $3, new_film = $4, reopened_at = $5, due_on = $6, closed_at = NULL, version = version + 1
      WHERE conference_id = $1 AND id = $2`,
    [conferenceId, inquiryId, state, newFilm, now, dueOn(dayIn(acting.timeZone, now), setting)],
  );
  const reopened = await readInquiry(client, conferenceId, inquiryId);
  await tellOfInquiry(client, acting, reopened, 'reopened');
  await appendAudit(client, {
    ...{
      conferenceId,
      actorId: personId,
      action: 'inquiry reopened',
      subjectKind: 'inquiry',
      subjectId: inquiryId,
    },
    before: { state: inquiry.state },
    after: { state, dueOn: reopened.dueOn },
  });
}

/** The team or the coordinator is done with it. @throws InquiryRefused while it is not answered, and in a closed season */
export async function closeInquiry(
  client: Queryable,
  acting: PersonActing,
  inquiryId: string,
): Promise<void> {
  const { conferenceId, personId } = acting;
  const inquiry = await readInquiry(client, conferenceId, inquiryId, 'lock');
  if (inquiry.closedSeason)
    throw new InquiryRefused(`Season ${inquiry.season} is closed: its inquiries can be read, not changed.`);
  const state = stateAfter(inquiry.state, 'close');
  await client.query(
    'UPDATE inquiry SET state = $3, closed_at = now(), version = version + 1 WHERE conference_id = $1 AND id = $2',
    [conferenceId, inquiryId, state],
  );
  await appendAudit(client, {
    ...{
      conferenceId,
      actorId: personId,
      action: 'inquiry closed',
      subjectKind: 'inquiry',
      subjectId: inquiryId,
    },
    before: { state: inquiry.state },
    after: { state },
  });
}

/** @throws Problem 404 when it is no game of the contact's team */
export async function gameToAskAbout(db: Queryable, acting: PersonActing, gameId: string): Promise<TeamGame> {
  const team = await teamOf(db, acting.conferenceId, acting.personId);
  const [game] = team ? await gamesOfTeam(db, acting.conferenceId, team.id, gameId) : [];
  if (!game) throw notFound('game');
  return game;
}
