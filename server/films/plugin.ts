import fastifyPlugin from 'fastify-plugin';
import { type BackgroundWork, backgroundWork } from '../threads/background-work.ts';
import { hour, nowAndThen } from '../threads/now-and-then.ts';
import { FilmFiles } from './film-files.ts';
import { lookAtNext } from './looking/look-at-film.ts';
import { dropStaleUploads, settleArrived, sweepFiles } from './tidying.ts';

declare module 'fastify' {
  interface FastifyInstance {
    /** Where films lie, and the process's share of looking at those that came. */
    films: Pick<BackgroundWork, 'wake' | 'idle'> & { readonly files: FilmFiles };
  }
}

/** One film at a time in each process: a second would only be slower. */
export const filmsPlugin = fastifyPlugin(async (app) => {
  const { pool } = app.database;
  const files = new FilmFiles(app.settings);
  const stop = new AbortController();
  const looker = { pool, files, filmDir: app.settings.FILM_DIR, stop: stop.signal };
  const work = backgroundWork(
    () => lookAtNext(looker),
    (error) => app.log.error({ err: error }, 'looking at a film was interrupted; it goes on later'),
  );
  app.decorate('films', { files, wake: work.wake, idle: work.idle });

  nowAndThen(
    app,
    hour,
    async () => {
      await dropStaleUploads(pool, files);
      await sweepFiles(pool, files);
    },
    'files of films that are gone could not be removed; they are later',
  );
  app.addHook('onListen', async () => {
    // A process that was killed just after the last byte of an upload did not say so.
    await settleArrived(pool, files).catch((error: unknown) =>
      app.log.warn({ err: error }, 'uploads could not be looked through; those that are whole wait'),
    );
    work.watch();
  });
  app.addHook('onClose', async () => {
    stop.abort();
    await work.stop();
  });
});
