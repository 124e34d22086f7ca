import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { recordingsOfProgram } from '../../narration/recording-store.ts';
import { seasonOf } from '../../schedule/seasons.ts';
import { formOf, listOf, textOf } from '../../web/form.ts';
import { Problem } from '../../web/problem.ts';
import type { Chooser } from '../chooser.ts';
import { audienceInWords } from '../edition-content.ts';
import { measureProgram } from '../meters.ts';
import { propose } from '../propose.ts';
import { listEditions } from '../stores/edition-store.ts';
import { movePlay, orderByTopic, removePlay } from '../stores/play-store.ts';
import { nameOf, readProgramNames } from '../stores/program-names.ts';
import { readProgram } from '../stores/program-rows.ts';
import { removeProgram, undoLast } from '../stores/program-store.ts';
import { metersView } from './meters-view.ts';
import { playLines } from './program-view.ts';

const params = z.object({ programId: z.uuid() });
const ofPlay = params.extend({ playId: z.uuid() });
const countOf = (form: ReturnType<typeof formOf>, name: string, most: number) => {
  const count = Number(textOf(form[name]));
  return Number.isInteger(count) && count >= 1 ? Math.min(count, most) : null;
};

/** One training program: its plays in order, how fair it is, a proposal, moving and taking out, undo. */
export function programPages(chooser: Chooser) {
  return async (app: FastifyInstance): Promise<void> => {
    const pages = app.withTypeProvider<ZodTypeProvider>();
    const { database } = app;
    const { pool } = database;
    const config = { policy: policies.coordinator };

    async function programPage(request: FastifyRequest, programId: string, told: { refused?: string } = {}) {
      const { conferenceId, timeZone } = sessionOf(request);
      const program = await readProgram(pool, conferenceId, programId);
      const names = await readProgramNames(database, conferenceId, program.seasonId);
      const measured = await measureProgram(database, conferenceId, program);
      const { proven, short } = request.query as Record<string, string | undefined>;
      return {
        season: await seasonOf(database, conferenceId, program.seasonId),
        program: { ...program, audienceWords: audienceInWords(program) },
        crew: program.audienceCrewId && names.crews.get(program.audienceCrewId),
        changedBy: program.changedBy ? nameOf(names, program.changedBy) : 'the program',
        timeZone,
        plays: playLines(program, measured, names, await recordingsOfProgram(pool, conferenceId, programId)),
        meters: metersView(measured, program, names),
        topics: [...names.duties.values()]
          .map(({ key, title }) => ({ key, title }))
          .sort((a, b) => (a.title < b.title ? -1 : 1)),
        editions: await listEditions(pool, conferenceId, programId),
        proposal: proven === undefined ? null : { proven: proven === 'yes', short: Number(short ?? 0) },
        ...told,
      };
    }
    const show = async (
      request: FastifyRequest,
      reply: FastifyReply,
      programId: string,
      refused?: Problem,
    ) => {
      const view = await programPage(request, programId, refused ? { refused: refused.message } : {});
      if (refused) reply.code(refused.status);
      return reply.page('programs/program', view, {
        title: view.program.title,
        width: 'wide',
        scripts: ['training-program'],
      });
    };
    /** Does something to a program and shows it; what is refused is said on the program's page as it is now. */
    const doing = async (
      request: FastifyRequest,
      reply: FastifyReply,
      programId: string,
      work: () => Promise<string | undefined>,
    ) => {
      try {
        const then = await work();
        return reply.redirect(`/training/programs/${programId}${then ?? ''}`, 303);
      } catch (error) {
        if (!(error instanceof Problem) || error.status !== 409) throw error;
        return show(request, reply, programId, error);
      }
    };

    pages.get(
      '/training/programs/:programId',
      {
        config,
        schema: {
          hide: true,
          params,
          querystring: z.object({ proven: z.enum(['yes', 'no']).optional(), short: z.string().optional() }),
        },
      },
      async (request, reply) => show(request, reply, request.params.programId),
    );

    pages.post(
      '/training/programs/:programId/propose',
      { config, schema: { hide: true, params } },
      async (request, reply) => {
        const { programId } = request.params;
        const form = formOf(request.body);
        return doing(request, reply, programId, async () => {
          const { proven, short } = await propose(
            database,
            app.results,
            chooser,
            sessionOf(request),
            programId,
            {
              clips: countOf(form, 'clips', 120),
              topics: countOf(form, 'topics', 30),
              dutyKeys: listOf(form.duty).filter((key) => key !== ''),
            },
          );
          return `?proven=${proven ? 'yes' : 'no'}&short=${short}`;
        });
      },
    );

    pages.post(
      '/training/programs/:programId/order',
      { config, schema: { hide: true, params } },
      async (request, reply) => {
        const { programId } = request.params;
        const seen = Number(textOf(formOf(request.body).orderVersion));
        return doing(request, reply, programId, async () => {
          await orderByTopic(pool, sessionOf(request), programId, seen);
          return '#plays';
        });
      },
    );

    pages.post(
      '/training/programs/:programId/undo',
      { config, schema: { hide: true, params } },
      async (request, reply) => {
        const { programId } = request.params;
        const seen = Number(textOf(formOf(request.body).version));
        return doing(request, reply, programId, async () => {
          await undoLast(pool, sessionOf(request), programId, seen);
          return undefined;
        });
      },
    );

    pages.post(
      '/training/programs/:programId/plays/:playId/move',
      { config, schema: { hide: true, params: ofPlay } },
      async (request, reply) => {
        const { programId, playId } = request.params;
        const form = formOf(request.body);
        return doing(request, reply, programId, async () => {
          const place = countOf(form, 'place', 1000) ?? 1;
          await movePlay(
            pool,
            sessionOf(request),
            programId,
            playId,
            place,
            Number(textOf(form.orderVersion)),
          );
          return `#play-${playId}`;
        });
      },
    );

    pages.post(
      '/training/programs/:programId/plays/:playId/remove',
      { config, schema: { hide: true, params: ofPlay } },
      async (request, reply) => {
        const { programId, playId } = request.params;
        return doing(request, reply, programId, async () => {
          await removePlay(pool, sessionOf(request), programId, playId);
          return '#plays';
        });
      },
    );

    pages.post(
      '/training/programs/:programId/delete',
      { config, schema: { hide: true, params } },
      async (request, reply) => {
        const { programId } = request.params;
        try {
          const { seasonId } = await removeProgram(pool, sessionOf(request), programId);
          return reply.redirect(`/seasons/${seasonId}/training`, 303);
        } catch (error) {
          if (!(error instanceof Problem) || error.status !== 409) throw error;
          return show(request, reply, programId, error);
        }
      },
    );
  };
}
