import fastifyPlugin from 'fastify-plugin';
import { Problem } from './problem.ts';

/** While the program stops, what still comes over open connections is told to come again. */
export const closing = fastifyPlugin(async (app) => {
  let begun = false;
  app.addHook('preClose', async () => {
    begun = true;
  });
  app.addHook('onRequest', async () => {
    if (!begun) return;
    throw new Problem(
      503,
      'The program is stopping',
      'The request was not carried out because the program is being stopped or started again; try again in a few seconds.',
      [],
      { 'retry-after': '5' },
    );
  });
});
