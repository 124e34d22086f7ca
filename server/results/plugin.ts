import fastifyPlugin from 'fastify-plugin';
import { Calculator } from './calculator.ts';
import { KeptResults } from './kept-result.ts';
import { type SeasonResults, seasonResults } from './season-results.ts';

declare module 'fastify' {
  interface FastifyInstance {
    /** A season's standings and patterns as they are now. */
    results: SeasonResults;
    /** The thread that computes them, for what a change would do. */
    calculator: Calculator;
    keptResults: KeptResults;
  }
}

/** Gives the application its results, computed in a thread that ends with it. */
export const resultsPlugin = fastifyPlugin(async (app) => {
  const calculator = new Calculator((work) => app.metrics.job('grading', work));
  // Not when tests inject: only a server that listens has a first visitor to keep waiting.
  app.addHook('onListen', async () => {
    calculator.start().catch((error) => app.log.error({ err: error }, 'The computing thread did not start'));
  });
  app.addHook('onClose', () => calculator.close());
  app.decorate('calculator', calculator);
  const kept = new KeptResults(app.database.pool);
  app.decorate('keptResults', kept);
  app.decorate('results', seasonResults(app.database.pool, calculator, kept));
});
