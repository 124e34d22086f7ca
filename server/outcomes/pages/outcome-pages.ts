import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import type { Verdict } from '../../patterns/follow-up/follow-up.ts';
import { seasonOf } from '../../schedule/seasons.ts';
import { type DutyOutcome, readProgramOutcome } from '../program-outcome.ts';

const params = z.object({ programId: z.uuid() });
const verdictTone: Record<Verdict, string> = {
  'fewer misses': 'good',
  'more misses': 'bad',
  'no change shown': 'warn',
  'too early to tell': '',
  'cannot be told': '',
};

/** Did a program help: the staff's misses of each duty it taught, before and after. */
export async function outcomePages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;

  pages.get(
    '/training/programs/:programId/outcome',
    { config: { policy: policies.coordinator }, schema: { hide: true, params } },
    async (request, reply) => {
      const session = sessionOf(request);
      const outcome = await readProgramOutcome(database.pool, session, request.params.programId);
      const { program, duties } = outcome;
      const view = {
        ...outcome,
        season: await seasonOf(database, session.conferenceId, program.seasonId),
        otherSeason: outcome.after && outcome.after.id !== program.seasonId ? outcome.after : null,
        between: outcome.teaching && outcome.teaching.from > outcome.teaching.until,
        duties: duties.map(dutyView),
        several: duties.length > 1,
      };
      return reply.page('outcomes/did-it-help', view, { title: `Did it help: ${program.title}` });
    },
  );
}

function dutyView(duty: DutyOutcome) {
  const { followUp, words } = duty;
  return {
    ...duty,
    followUp: {
      ...followUp,
      words: { ...words, expected: expectedWords(duty) },
      tone: verdictTone[followUp.verdict],
      early: false,
    },
    told: followUp.looks > 0 && !['too early to tell', 'cannot be told'].includes(followUp.verdict),
    p: followUp.verdict === 'more misses' ? followUp.pMore : followUp.pFewer,
  };
}

/** As of a development point; what is usual comes from the duties that were not taught. */
function expectedWords({ followUp, words }: DutyOutcome): string {
  return words.expected === ''
    ? ''
    : words.expected.replace(
        'and with the observers of the games since',
        `and with what happened meanwhile to duties that were not taught, as the same observers mark`,
      ) + (followUp.verdict === 'too early to tell' ? ' More games will tell.' : '');
}
