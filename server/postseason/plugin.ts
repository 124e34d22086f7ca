import type { FastifyInstance } from 'fastify';
import { committee } from './committee/plugin.ts';
import { factsRoutes } from './facts-routes.ts';
import { offers } from './offers/plugin.ts';
import { candidatePages } from './pages/candidate-pages.ts';
import { factsPages } from './pages/facts-pages.ts';
import { gamePages } from './pages/game-pages.ts';
import { listPages } from './pages/list-pages.ts';
import { rulePages } from './pages/rule-pages.ts';
import { selectionPages } from './pages/selection-pages.ts';
import { placeRoutes } from './place-routes.ts';
import { Proposer } from './proposer.ts';
import { selectionRecord } from './record/plugin.ts';
import { selectionRoutes } from './selection-routes.ts';

/** Officials chosen for games after the season: the program proposes, people decide. */
export async function postseason(app: FastifyInstance): Promise<void> {
  const proposer = new Proposer();
  app.addHook('onClose', () => proposer.close());
  await app.register(selectionRoutes(proposer));
  await app.register(placeRoutes);
  await app.register(factsRoutes);
  await app.register(listPages);
  await app.register(selectionPages(proposer));
  await app.register(rulePages);
  await app.register(gamePages);
  await app.register(candidatePages);
  await app.register(factsPages);
  await app.register(committee);
  await app.register(offers);
  await app.register(selectionRecord);
}
