import type { FastifyInstance, FastifyRequest } from 'fastify';
import { sessionOf } from '../../accounts/policy.ts';
import { seasonInView } from '../../schedule/seasons.ts';
import { notFound } from '../../web/problem.ts';
import { loadSeason } from '../stores/season-store.ts';

/** Reads the season in view, and all that planning its observers needs. */
export function seasonReader({ database }: FastifyInstance) {
  const season = async (request: FastifyRequest) => {
    const found = await seasonInView(database, request);
    if (!found) throw notFound('season');
    return found;
  };
  const load = async (request: FastifyRequest) =>
    loadSeason(database, sessionOf(request).conferenceId, (await season(request)).id);
  return { season, load };
}
