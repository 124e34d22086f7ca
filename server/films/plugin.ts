import fastifyPlugin from 'fastify-plugin';
import { type BackgroundWork, backgroundWork } from '../threads/background-work.ts';
import { FilmFiles } from './film-files.ts';
import { lookAtNext } from './looking/look-at-film.ts';
import { dropStaleUploads, settleArrived, sweepFiles } from './tidying.ts';

declare module 'fastify' {
  interface FastifyInstance {
    /** Where films lie, and the process's share of looking at those that came. */
    films: Pick<BackgroundWork, 'wake' | 'idle'> & { readonly files: FilmFiles };
  }
}

const hour = 3600_000;

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

  const tidy = async () => {
    try {
      await dropStaleUploads(pool, files);
      await sweepFiles(pool, files);
    } catch (error) {
      app.log.warn({ err: error }, 'files of films that are gone could not be removed; they are later');
    }
  };
  let timer: NodeJS.Timeout | undefined;
  app.addHook('onListen', async () => {
    // A process that was killed just after the last byte of an upload did not say so.
    await settleArrived(pool, files).catch((error: unknown) =>
      app.log.warn({ err: error }, 'uploads could not be looked through; those that are whole wait'),
    );
    work.watch();
    void tidy();
    timer = setInterval(tidy, hour);
    timer.unref();
  });
  app.addHook('onClose', async () => {
    clearInterval(timer);
    stop.abort();
    await work.stop();
  });
});
