import type { FastifyInstance, FastifyReply } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import type { Season } from '../../database/generated/client.ts';
import { inTransaction } from '../../database/transaction.ts';
import { rulesFingerprint } from '../../rubric/fingerprints.ts';
import { changePlayingRules } from '../../rubric/playing-rules.ts';
import { PlayingRulesChangedMeanwhile, RubricChangeRefused } from '../../rubric/refusals.ts';
import type { PlayingRules, Rubric } from '../../rubric/rubric.ts';
import { type FormErrors, formOf, textOf } from '../../web/form.ts';
import { playingRulesFrom, playingRulesView } from '../playing-rules-form.ts';
import { noteFrom, ofSeason, rubricOf } from './shown-rubric.ts';

/** The rules book a season is judged by, and how the conference works what crews work differently. */
export async function playingRulesPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;
  const config = { policy: policies.coordinator };
  const schema = { hide: true, params: ofSeason };

  interface Shown {
    readonly season: Season;
    readonly rubric: Rubric;
    readonly rules?: PlayingRules;
    readonly errors?: FormErrors;
    readonly problem?: string;
    readonly note?: string;
  }

  function page(reply: FastifyReply, { season, rubric, rules = rubric, errors, problem, note = '' }: Shown) {
    return reply.page(
      'rubric-editing/playing-rules',
      {
        season,
        rubric,
        problem,
        note,
        mayChange: season.state !== 'closed',
        seen: rulesFingerprint(rubric),
        startsVersion: rubric.filedReports > 0 ? rubric.number + 1 : null,
        ...playingRulesView(rules, errors),
      },
      { title: 'How the conference plays' },
    );
  }

  pages.get('/seasons/:seasonId/rubric/playing-rules', { config, schema }, async (request, reply) =>
    page(reply, await rubricOf(database, request, request.params.seasonId)),
  );

  pages.post('/seasons/:seasonId/rubric/playing-rules', { config, schema }, async (request, reply) => {
    const { conferenceId, personId } = sessionOf(request);
    const found = await rubricOf(database, request, request.params.seasonId);
    const form = formOf(request.body);
    const note = noteFrom(form);
    const read = playingRulesFrom(form);
    if ('errors' in read) return page(reply.code(422), { ...found, note, errors: read.errors });
    try {
      await inTransaction(database.pool, (client) =>
        changePlayingRules(
          client,
          { conferenceId, personId },
          found.season.id,
          { ...read.rules, seen: textOf(form.seen) },
          note,
        ),
      );
    } catch (error) {
      if (!(error instanceof PlayingRulesChangedMeanwhile || error instanceof RubricChangeRefused))
        throw error;
      const now = await rubricOf(database, request, request.params.seasonId);
      const problem =
        error instanceof PlayingRulesChangedMeanwhile
          ? `${error.message} Your choices are kept below.`
          : 'These are the answers already; change one of them.';
      return page(reply.code(409), { ...now, rules: read.rules, note, problem });
    }
    return reply.redirect(`/seasons/${found.season.id}/rubric?done=playing-rules`, 303);
  });
}
