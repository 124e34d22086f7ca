import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { inTransaction } from '../../database/transaction.ts';
import { foulsFromText, foulsToText } from '../../football/fouls.ts';
import { type Play, playSchema } from '../../football/play.ts';
import { positions } from '../../football/positions.ts';
import { readDutyTitles } from '../../rubric/duty-titles.ts';
import { type Form, formOf, textOf } from '../../web/form.ts';
import { number } from '../../web/format.ts';
import { notFound, Problem } from '../../web/problem.ts';
import {
  clockText,
  downText,
  numberFrom,
  type PlayField,
  playFields,
  resultText,
} from '../entry/play-fields.ts';
import { type NumberedPlay, playLog } from '../filing/report-material.ts';
import { asProblem } from '../request-errors.ts';
import { gameAgreement } from '../review/agreement.ts';
import { correctPlay, marksOnPlay, type RecountedReport, removeLoggedPlay } from '../review/corrections.ts';
import { reportMarks, reportsOfGame } from '../review/review-store.ts';
import type { DutyAgreement } from '../review/two-reports.ts';
import { markView } from './report-pages.ts';

const id = z.uuid();

/** A game as the coordinator sees it: its crew, reports and play log, corrections, and two observers side by side. */
export async function gamePages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;

  async function gameHead(conferenceId: string, gameId: string) {
    const { rows } = await pool.query<{
      id: string;
      season_id: string;
      week: number;
      title: string;
      kickoff: Date;
      timeZone: string;
      venue: string;
      confirmed: boolean;
    }>(
      `SELECT g.id, g.season_id, g.week, teams.title, g.kickoff, v.time_zone AS "timeZone",
              v.name AS venue, g.crew_confirmed_at IS NOT NULL AS confirmed
         FROM game g
         JOIN venue v ON v.conference_id = g.conference_id AND v.id = g.venue_id
         JOIN game_teams teams ON teams.conference_id = g.conference_id AND teams.game_id = g.id
        WHERE g.conference_id = $1 AND g.id = $2`,
      [conferenceId, gameId],
    );
    if (!rows[0]) throw notFound('game');
    return rows[0];
  }

  async function crewOf(conferenceId: string, gameId: string) {
    const { rows } = await pool.query<{ position: string; official: string }>(
      `SELECT w.position, p.given_name || ' ' || p.family_name AS official
         FROM working_crew_member w JOIN person p ON p.conference_id = w.conference_id AND p.id = w.person_id
        WHERE w.conference_id = $1 AND w.game_id = $2`,
      [conferenceId, gameId],
    );
    return positions.flatMap((position) => rows.filter((row) => row.position === position));
  }

  pages.get(
    '/games/:gameId',
    { config: { policy: policies.coordinator }, schema: { hide: true, params: z.object({ gameId: id }) } },
    async (request, reply) => {
      const { conferenceId } = sessionOf(request);
      const { gameId } = request.params;
      const game = await gameHead(conferenceId, gameId);
      const reports = await reportsOfGame(pool, conferenceId, gameId);
      const view = {
        game,
        crew: await crewOf(conferenceId, gameId),
        reports,
        two: reports.length > 1,
        plays: (await playLog(pool, conferenceId, gameId)).map(playLine),
      };
      return reply.page('reports/games/game', view, { title: game.title, width: 'wide' });
    },
  );

  pages.get(
    '/games/:gameId/agreement',
    {
      config: { policy: policies.coordinator },
      schema: {
        hide: true,
        params: z.object({ gameId: id }),
        querystring: z.object({ first: id.optional(), second: id.optional() }),
      },
    },
    async (request, reply) => {
      const { conferenceId } = sessionOf(request);
      const game = await gameHead(conferenceId, request.params.gameId);
      const found = await gameAgreement(pool, conferenceId, game.id, request.query);
      if (!found) return reply.page('reports/games/agreement', { game, found }, { title: 'Two observers' });
      const marks = await Promise.all(
        [found.first, found.second].map((report) => reportMarks(pool, conferenceId, report.id)),
      );
      return reply.page(
        'reports/games/agreement',
        {
          game,
          found,
          three: found.reports.length > 2,
          figures: [{ ...found.overall, title: 'All duties' }, ...found.duties].map(agreementView),
          ...sideBySide(marks[0]!, marks[1]!),
        },
        { title: `Two observers: ${game.title}`, width: 'wide' },
      );
    },
  );

  async function correctionView(
    conferenceId: string,
    gameId: string,
    playId: string,
    form?: Form,
    wrong: Record<string, string> = {},
  ) {
    const game = await gameHead(conferenceId, gameId);
    const item = (await playLog(pool, conferenceId, gameId)).find((play) => play.id === playId);
    if (!item) throw notFound('play');
    const { season_id } = game;
    const titles = await readDutyTitles(pool, conferenceId, season_id);
    const marks = (await marksOnPlay(pool, conferenceId, playId)).map((mark) => ({
      ...mark,
      duty: titles.get(mark.dutyKey) ?? mark.dutyKey,
    }));
    const groups = (['start', 'result', 'more'] as const).map((group) => ({
      group: { start: 'At the snap', result: 'What came of it', more: 'More facts' }[group],
      fields: playFields
        .filter((field) => field.group === group)
        .map((field) => fieldView(field, item.play, form, wrong)),
    }));
    return {
      game,
      play: playLine(item),
      marks,
      groups,
      reason: textOf(form?.reason),
      wrong: wrong.all ?? (Object.keys(wrong).length > 0 ? 'Some facts cannot be read; see below.' : ''),
    };
  }

  async function recountedView(
    conferenceId: string,
    gameId: string,
    done: string,
    recounted: readonly RecountedReport[],
  ) {
    const game = await gameHead(conferenceId, gameId);
    const titles = await readDutyTitles(pool, conferenceId, game.season_id);
    return {
      game,
      done,
      recounted: recounted.map((report) => ({
        ...report,
        differences: report.differences.map((difference) => ({
          ...difference,
          title: titles.get(difference.dutyKey) ?? difference.dutyKey,
        })),
      })),
    };
  }

  const playParams = z.object({ gameId: id, playId: id });

  pages.post(
    '/games/:gameId/plays/:playId/removal',
    { config: { policy: policies.coordinator }, schema: { hide: true, params: playParams } },
    async (request, reply) => {
      const { conferenceId, personId } = sessionOf(request);
      const { gameId, playId } = request.params;
      const form = formOf(request.body);
      const reason = textOf(form.reason);
      try {
        const recounted = await inTransaction(pool, (client) =>
          removeLoggedPlay(client, { conferenceId, personId }, gameId, playId, {
            reason,
            marksToo: textOf(form.marksToo) === 'yes',
          }),
        );
        const title = 'Play removed';
        const view = await recountedView(conferenceId, gameId, title, recounted);
        return reply.page('reports/games/corrected', view, { title });
      } catch (error) {
        const problem = asProblem(error);
        if (!(problem instanceof Problem)) throw problem;
        const view = await correctionView(conferenceId, gameId, playId, undefined, { all: problem.message });
        return reply
          .code(422)
          .page(
            'reports/games/correct-play',
            { ...view, reason: '', removing: true, removalReason: reason },
            { title: `Correct play ${view.play.number}` },
          );
      }
    },
  );

  pages.get(
    '/games/:gameId/plays/:playId',
    { config: { policy: policies.coordinator }, schema: { hide: true, params: playParams } },
    async (request, reply) => {
      const { gameId, playId } = request.params;
      const view = await correctionView(sessionOf(request).conferenceId, gameId, playId);
      return reply.page('reports/games/correct-play', view, { title: `Correct play ${view.play.number}` });
    },
  );

  pages.post(
    '/games/:gameId/plays/:playId',
    { config: { policy: policies.coordinator }, schema: { hide: true, params: playParams } },
    async (request, reply) => {
      const { conferenceId, personId } = sessionOf(request);
      const { gameId, playId } = request.params;
      const form = formOf(request.body);
      const { play, wrong } = playFromForm(form);
      if (play) {
        try {
          const recounted = await inTransaction(pool, (client) =>
            correctPlay(client, { conferenceId, personId }, gameId, playId, play, textOf(form.reason)),
          );
          const title = 'Play corrected';
          return reply.page(
            'reports/games/corrected',
            await recountedView(conferenceId, gameId, title, recounted),
            {
              title,
            },
          );
        } catch (error) {
          const problem = asProblem(error);
          if (!(problem instanceof Problem)) throw problem;
          wrong.all = problem.message;
        }
      }
      const view = await correctionView(conferenceId, gameId, playId, form, wrong);
      return reply
        .code(422)
        .page('reports/games/correct-play', view, { title: `Correct play ${view.play.number}` });
    },
  );
}

/** A duty's agreement in words: kappa only as far as the marks allow one. */
function agreementView(duty: DutyAgreement & { title: string }) {
  const { kappa, agreed, bothNotMet, onlyFirst, onlySecond } = duty;
  const percent = (part: number) => `${number(100 * part)} %`;
  const share = agreed && `${percent(agreed.share)} (${percent(agreed.low)} to ${percent(agreed.high)})`;
  if (bothNotMet + onlyFirst + onlySecond === 0) return { ...duty, share, kappaText: 'neither noted a miss' };
  if (kappa.value === null) return { ...duty, share, kappaText: kappa.reason };
  const value = number(kappa.value, 2);
  // The large-sample error is 0 where the two never differed, or one noted no miss: that is not certainty.
  const kappaText =
    kappa.high - kappa.low < 1e-9
      ? `${value}, too few misses for an interval`
      : `${value} (${number(kappa.low, 2)} to ${number(kappa.high, 2)})`;
  return { ...duty, share, kappaText };
}

const playLine = (item: NumberedPlay) => ({
  id: item.id,
  number: item.number,
  kind: item.play.kind,
  quarter: item.play.quarter,
  clock: item.play.clockSeconds,
  down: downText(item.play),
  result: resultText(item.play),
});

function fieldView(field: PlayField, play: Play, form: Form | undefined, wrong: Record<string, string>) {
  const value = play[field.fact];
  const kept =
    value === undefined
      ? ''
      : field.control === 'clock'
        ? clockText(value as number)
        : field.control === 'fouls'
          ? foulsToText(value as NonNullable<Play['fouls']>)
          : value === true
            ? 'yes'
            : value === false
              ? 'no'
              : String(value);
  const text = form ? textOf(form[field.fact]) : kept;
  const options = field.control === 'yes-no' ? ['yes', 'no'] : field.options;
  return {
    fact: field.fact,
    label: field.label,
    hint: field.hint,
    text,
    wrong: wrong[field.fact],
    required: field.fact === 'kind',
    options: options?.map((option) => ({ option, chosen: option === text })),
  };
}

/** The play that a correction form describes, or what is wrong with each fact. */
function playFromForm(form: Form): { play?: Play; wrong: Record<string, string> } {
  const facts: Record<string, unknown> = {};
  const wrong: Record<string, string> = {};
  for (const field of playFields) {
    const text = textOf(form[field.fact]).trim();
    if (text === '') continue;
    try {
      facts[field.fact] = valueFrom(field, text);
    } catch (error) {
      wrong[field.fact] = (error as Error).message;
    }
  }
  const checked = playSchema.safeParse(facts);
  if (checked.success && Object.keys(wrong).length === 0) return { play: checked.data, wrong };
  for (const issue of checked.error?.issues ?? []) wrong[String(issue.path[0] ?? 'all')] ??= issue.message;
  return { wrong };
}

function valueFrom(field: PlayField, text: string): unknown {
  if (field.control === 'yes-no') return text === 'yes';
  if (field.control === 'fouls') return foulsFromText(text);
  if (field.control === 'choice') return text;
  return numberFrom(field, text);
}

type Marks = Awaited<ReturnType<typeof reportMarks>>;

/** Marks of two reports laid beside each other by play, official and duty. */
function sideBySide(first: Marks, second: Marks) {
  const key = (mark: Marks[number]) => `${mark.playId}\n${mark.position}\n${mark.dutyKey}`;
  const kept = (marks: Marks) => marks.filter((mark) => !mark.removed);
  const others = new Map(kept(second).map((mark) => [key(mark), mark]));
  const rows = kept(first).map((mark) => {
    const other = others.get(key(mark));
    others.delete(key(mark));
    return { at: markView(mark), first: markView(mark), second: other && markView(other) };
  });
  const all = [
    ...rows,
    ...[...others.values()].map((mark) => ({ at: markView(mark), first: undefined, second: markView(mark) })),
  ];
  all.sort((a, b) => a.at.number - b.at.number || a.at.position.localeCompare(b.at.position));
  return { rows: all };
}
