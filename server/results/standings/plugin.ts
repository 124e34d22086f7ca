import fastifyPlugin from 'fastify-plugin';
import { Grader } from './grader.ts';
import { type CurrentStandings, currentStandings } from './season-standings.ts';

declare module 'fastify' {
  interface FastifyInstance {
    /** The standings of a season as they are now; see `currentStandings`. */
    standingsOf(conferenceId: string, seasonId: string): Promise<CurrentStandings>;
    /** The thread that grades, for what a change would do to the standings. */
    grader: Grader;
  }
}

/** Gives the application its standings, graded in a thread that ends with it. */
export const standingsPlugin = fastifyPlugin(async (app) => {
  const grader = new Grader();
  // Not when tests inject: only a server that listens has a first visitor to keep waiting.
  app.addHook('onListen', async () => {
    grader.start().catch((error) => app.log.error(error, 'The grading thread did not start'));
  });
  app.addHook('onClose', () => grader.close());
  app.decorate('grader', grader);
  app.decorate('standingsOf', (conferenceId, seasonId) =>
    currentStandings(app.database.pool, grader, conferenceId, seasonId),
  );
});
