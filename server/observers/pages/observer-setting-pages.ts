import type { FastifyInstance, FastifyReply } from 'fastify';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { noSeason } from '../../schedule/pages/no-season.ts';
import { seasonInView, seasonOf } from '../../schedule/seasons.ts';
import { loadSetting, saveSetting } from '../stores/setting-store.ts';

const whole = (most: number) =>
  z.coerce.number('must be a whole number').int('must be a whole number').min(0).max(most);
const price = z.coerce.number('must be a number of miles').min(0).max(5000);
const settingForm = z.object({
  observersPerGame: whole(10),
  timesSeen: whole(100),
  differentObservers: whole(100),
  film: price,
  repeatedPair: price,
  load: price,
  information: price,
});

/** What the coordinator wants covered, and how the planner weighs it. */
export async function observerSettingPages(app: FastifyInstance): Promise<void> {
  const { pool } = app.database;
  const config = { policy: policies.coordinator };
  const schema = { hide: true };

  app.get('/observers/settings', { config, schema }, async (request, reply) => {
    const { conferenceId } = sessionOf(request);
    const season = await seasonInView(app.database, request);
    if (!season) return noSeason(reply);
    const { crewTarget, ...rest } = await loadSetting(pool, conferenceId, season.id);
    return show(reply, season, { ...rest, ...crewTarget });
  });

  function show(
    reply: FastifyReply,
    season: { id: string; name: string },
    setting: object,
    wrong: Record<string, string> = {},
  ) {
    return reply
      .code(Object.keys(wrong).length > 0 ? 400 : 200)
      .page(
        'observers/settings',
        { seasonName: season.name, seasonId: season.id, setting, wrong },
        { title: 'What the planner aims for' },
      );
  }

  app.post('/observers/settings', { config, schema }, async (request, reply) => {
    const actor = sessionOf(request);
    const typed = (request.body ?? {}) as Record<string, unknown>;
    // The form names its season: another may have come into view in another window since.
    const named = z.uuid().safeParse(typed.season);
    const season = named.success
      ? await seasonOf(app.database, actor.conferenceId, named.data)
      : await seasonInView(app.database, request);
    if (!season) return noSeason(reply);
    const parsed = settingForm.safeParse(typed);
    if (!parsed.success)
      return show(
        reply,
        season,
        typed,
        Object.fromEntries(parsed.error.issues.map(({ path, message }) => [path.join('.'), message])),
      );
    const { timesSeen, differentObservers, ...rest } = parsed.data;
    await saveSetting(pool, actor, season.id, { ...rest, crewTarget: { timesSeen, differentObservers } });
    return reply.redirect('/observers', 303);
  });
}
