import type { FastifyInstance } from 'fastify';
import { readPeople } from '../../accounts/people-names.ts';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { shareInWords } from '../../duties/report-shares.ts';
import { positions } from '../../football/positions.ts';
import { noSeason } from '../../schedule/pages/no-season.ts';
import { seasonInView } from '../../schedule/seasons.ts';
import { person } from '../../web/format.ts';
import { coverageOf } from '../coverage.ts';
import { seasonSpread } from '../season-spread.ts';
import { loadSeason } from '../stores/season-store.ts';

/** How often each crew and official has been and will be seen, and how sure their grades will be. */
export async function observerCoveragePages(app: FastifyInstance): Promise<void> {
  app.get(
    '/observers/coverage',
    { config: { policy: policies.coordinator }, schema: { hide: true } },
    async (request, reply) => {
      const { conferenceId } = sessionOf(request);
      const season = await seasonInView(app.database, request);
      if (!season) return noSeason(reply);
      const material = await loadSeason(app.database, conferenceId, season.id);
      const spread = await seasonSpread(app.results, conferenceId, material.season.id);
      const coverage = coverageOf(material, spread.spread);
      const names = await readPeople(app.database, conferenceId);
      const officials = coverage.officials.map((official) => ({
        ...official,
        name: person(names.get(official.id)),
        unseen: official.errorAtEnd === null,
        watched: shareInWords(official.watchedShare),
        decided: shareInWords(official.decidedShare),
      }));
      const order = new Map<string, number>(positions.map((position, at) => [position, at]));
      const groups = new Map<string, typeof officials>();
      for (const official of officials)
        groups.set(official.position, [...(groups.get(official.position) ?? []), official]);
      return reply.page(
        'observers/coverage',
        {
          season: material.season,
          target: material.settings.crewTarget,
          crews: coverage.crews.map((crew) => ({
            ...crew,
            watched: shareInWords(crew.watchedShare),
            decided: shareInWords(crew.decidedShare),
          })),
          positions: [...groups]
            .sort(([a], [b]) => (order.get(a) ?? 99) - (order.get(b) ?? 99))
            .map(([position, list]) => ({
              position,
              officials: list.sort((a, b) => (b.errorAtEnd ?? Infinity) - (a.errorAtEnd ?? Infinity)),
            })),
          apart: coverage.groups.length > 1 ? coverage.groups : null,
          spread: spread.spread,
          estimated: spread.estimated,
        },
        { title: 'Coverage', width: 'wide' },
      );
    },
  );
}
