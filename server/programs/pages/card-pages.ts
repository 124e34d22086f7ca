import type { FastifyInstance, FastifyRequest } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { loggedFacts, playInWords } from '../../football/play-in-words.ts';
import { type Position, positions } from '../../football/positions.ts';
import { recordingsOfProgram } from '../../narration/recording-store.ts';
import { drawingView } from '../../reports/plays/drawing-view.ts';
import { readPlayDuties } from '../../reports/plays/play-duties.ts';
import { secondsOfCut } from '../../timeline/cut-length.ts';
import { fitInWords, readingFit, wordsPerMinute } from '../../training/reading-time.ts';
import { clipSeconds } from '../../training/running-time.ts';
import { errorsOf, type FormErrors, fieldErrors, formOf, textOf } from '../../web/form.ts';
import { notFound } from '../../web/problem.ts';
import { filmOfPlay } from '../film-of-play.ts';
import { cardSchema, type ProgramPlay } from '../program.ts';
import { readCut } from '../stores/cut-store.ts';
import { readPlayFacts } from '../stores/play-facts.ts';
import { CardChanged, keepCard } from '../stores/play-store.ts';
import { nameOf, readProgramNames } from '../stores/program-names.ts';
import { cardOf, readProgram } from '../stores/program-rows.ts';
import { type CardValues, cardForm, cardOfForm, differencesNow } from './card-form.ts';
import { voiceOfPlay } from './voice-view.ts';

const params = z.object({ programId: z.uuid(), playId: z.uuid() });

interface Sent {
  readonly values: CardValues;
  /** The card that it was written on, so that one kept meanwhile by somebody else is not written over unseen. */
  readonly version?: string;
  readonly errors?: FormErrors;
  /** The card as somebody else left it, and where it differs from what was sent. */
  readonly changed?: ReturnType<typeof differencesNow>;
}

/** One play of a program: what was logged, who owed what, and its card. */
export async function cardPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;
  const { pool } = database;
  const config = { policy: policies.coordinator };

  async function cardPage(request: FastifyRequest, programId: string, playId: string, sent?: Sent) {
    const { conferenceId } = sessionOf(request);
    const program = await readProgram(pool, conferenceId, programId);
    const at = program.plays.findIndex((one) => one.playId === playId);
    const play: ProgramPlay | undefined = program.plays[at];
    const facts = (await readPlayFacts(pool, conferenceId, [playId])).get(playId);
    if (!play || !facts) throw notFound('play of this program');
    const names = await readProgramNames(database, conferenceId, program.seasonId);
    const found = await readPlayDuties(database, conferenceId, facts.gameId, playId);
    const values = sent?.values ?? cardOf(play);
    const kept = await readCut(pool, conferenceId, programId, playId);
    const cut = kept ? Math.round(secondsOfCut(kept.cut) * 10) / 10 : null;
    const clip =
      cut ??
      clipSeconds({
        secondsBefore: Number(values.secondsBefore) || 0,
        secondsAfter: Number(values.secondsAfter) || 0,
      });
    const owedBy = (of: (position: Position) => boolean) =>
      positions.filter(of).flatMap((position) => {
        const duties = found.owed.filter((one) => one.position === position).map(({ duty }) => duty);
        const official = facts.officials[position];
        if (duties.length === 0) return [];
        return [
          {
            position,
            official: official ? nameOf(names, official) : null,
            duties: duties.map((duty) => ({
              ...duty,
              isTaught: duty.key === values.dutyKey && position === values.position,
            })),
          },
        ];
      });
    const reading = readingFit(values.narration, clip);
    return {
      program,
      play,
      version: sent?.version ?? play.version,
      place: at + 1,
      before: program.plays[at - 1],
      after: program.plays[at + 1],
      facts: {
        ...facts,
        inWords: playInWords(facts.play),
        film: filmOfPlay(facts),
      },
      logged: loggedFacts(facts.play).map((one) =>
        one.fact === 'offense' && found.teams ? { ...one, value: found.teams.offense } : one,
      ),
      drawing: drawingView(found),
      // Whose play it is comes first, all others below.
      owed: owedBy((position) => position === values.position),
      owedByOthers: owedBy((position) => position !== values.position),
      form: cardForm(
        values,
        [...names.duties.values()].sort((a, b) => (a.title < b.title ? -1 : 1)),
      ),
      clipSeconds: cut,
      voice: kept
        ? voiceOfPlay(
            kept.cut,
            String(values.question ?? '') !== '',
            await recordingsOfProgram(pool, conferenceId, programId),
          )
        : null,
      reading,
      readingWords: fitInWords(reading),
      rate: wordsPerMinute,
      errors: sent?.errors ?? {},
      changed: sent?.changed,
      kept: 'kept' in (request.query as object),
    };
  }
  const titleOf = (view: Awaited<ReturnType<typeof cardPage>>) =>
    `Play ${view.place} of ${view.program.title}`;
  const loads = { scripts: ['training-card'], styles: ['clip-editor.css'] };

  pages.get(
    '/training/programs/:programId/plays/:playId',
    { config, schema: { hide: true, params, querystring: z.object({ kept: z.string().optional() }) } },
    async (request, reply) => {
      const view = await cardPage(request, request.params.programId, request.params.playId);
      return reply.page('programs/card', view, { title: titleOf(view), width: 'wide', ...loads });
    },
  );

  pages.get(
    '/training/programs/:programId/plays/:playId/clip',
    { config, schema: { hide: true, params } },
    async (request, reply) => {
      const view = await cardPage(request, request.params.programId, request.params.playId);
      return reply.page('programs/clip', view, {
        title: `Clip: ${titleOf(view)}`,
        width: 'wide',
        ...loads,
        scripts: [...loads.scripts, 'clip-editor'],
      });
    },
  );

  pages.post(
    '/training/programs/:programId/plays/:playId',
    { config, schema: { hide: true, params } },
    async (request, reply) => {
      const { programId, playId } = request.params;
      const form = formOf(request.body);
      const values = cardOfForm(form);
      const again = async (status: number, told: Omit<Sent, 'values'>) => {
        const view = await cardPage(request, programId, playId, { values, ...told });
        return reply
          .code(status)
          .page('programs/card', view, { title: titleOf(view), width: 'wide', ...loads });
      };
      const version = textOf(form.version);
      const parsed = cardSchema.safeParse(values);
      if (!parsed.success) return again(400, { errors: errorsOf(parsed.error), version });
      try {
        await keepCard(pool, sessionOf(request), programId, playId, parsed.data, Number(version));
      } catch (error) {
        if (error instanceof CardChanged)
          return again(409, { changed: differencesNow(cardOf(error.now), parsed.data) });
        return again(400, { errors: fieldErrors(error), version });
      }
      const next = textOf(form.next);
      return reply.redirect(
        z.uuid().safeParse(next).success
          ? `/training/programs/${programId}/plays/${next}`
          : `/training/programs/${programId}/plays/${playId}?kept`,
        303,
      );
    },
  );
}
