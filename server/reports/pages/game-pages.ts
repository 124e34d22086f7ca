import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { inTransaction } from '../../database/transaction.ts';
import { findingInWords } from '../../duties/consequence.ts';
import { readGameHead } from '../../games/game-head.ts';
import { readDutyTitles } from '../../rubric/duty-titles.ts';
import { readWorkingCrew } from '../../schedule/schedule-store.ts';
import { type Form, formOf, textOf } from '../../web/form.ts';
import { number } from '../../web/format.ts';
import { notFound, Problem } from '../../web/problem.ts';
import { playLog } from '../filing/counted-material.ts';
import { contradictionsView, gameContradictions } from '../plays/play-contradictions.ts';
import { asProblem } from '../request-errors.ts';
import { type GameAgreement, gameAgreement } from '../review/agreement.ts';
import { correctPlay, marksOnPlay, removeLoggedPlay } from '../review/corrections.ts';
import { reportMarks } from '../review/mark-lines.ts';
import { overlookedWords, shareWords } from '../review/overlooked-words.ts';
import { reportsOfGame } from '../review/report-lines.ts';
import type { DutyAgreement } from '../review/two-reports.ts';
import { markView } from './mark-view.ts';
import { playFieldGroups, playFromForm, wrongInSum } from './play-form.ts';
import { playLine, recountedView } from './recounted.ts';

const id = z.uuid();

/** A game as the coordinator sees it: its crew, reports and play log, corrections, and two observers side by side. */
export async function gamePages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;

  const gameHead = (conferenceId: string, gameId: string) => readGameHead(pool, conferenceId, gameId);

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
        crew: await readWorkingCrew(pool, conferenceId, gameId),
        reports,
        two: reports.length > 1,
        plays: (await playLog(pool, conferenceId, gameId)).map(playLine),
        contradictions: contradictionsView(await gameContradictions(pool, conferenceId, game), gameId, true),
        notice: crewNotices[textOf(formOf(request.query).done)],
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
          noticed: noticedView(found),
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
    const titles = await readDutyTitles(pool, conferenceId, game.seasonId);
    const marks = (await marksOnPlay(pool, conferenceId, playId)).map((mark) => ({
      ...mark,
      said: findingInWords(mark.finding, mark.consequence),
      duty: titles.get(mark.dutyKey) ?? mark.dutyKey,
    }));
    return {
      game,
      play: playLine(item),
      marks,
      contradictions: contradictionsView(
        (await gameContradictions(pool, conferenceId, game)).filter((one) => one.playId === playId),
        gameId,
        true,
      ),
      groups: playFieldGroups(item.play, form, wrong),
      reason: textOf(form?.reason),
      wrong: wrongInSum(wrong),
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
        const view = await recountedView(pool, conferenceId, gameId, title, recounted);
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
            await recountedView(pool, conferenceId, gameId, title, recounted),
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

const crewNotices: Record<string, string> = { crew: 'The working crew is confirmed.' };

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

/** What the two reports tell of misses that were overlooked. */
function noticedView({ first, second, samples, detection }: GameAgreement) {
  const sees = (observer: string, other: string, id: string) => ({
    observer,
    other,
    share: shareWords(detection.observers.find((row) => row.observer === id)?.seen ?? null),
  });
  return {
    any: detection.misses.found > 0,
    ...samples,
    shares: [
      sees(first.observer, second.observer, samples.first),
      sees(second.observer, first.observer, samples.second),
    ],
    neither: overlookedWords(detection.misses),
    differed: detection.differed,
  };
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
