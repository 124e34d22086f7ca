import fastifyPlugin from 'fastify-plugin';
import { hour, nowAndThen } from '../threads/now-and-then.ts';
import { RecordingFiles } from './recording-files.ts';
import { tidyRecordings } from './tidying.ts';

declare module 'fastify' {
  interface FastifyInstance {
    /** Where recordings lie, and the process's share of looking at those that come. */
    narration: {
      readonly files: RecordingFiles;
      /** Does something once what was given before is done: a second sound at the same time would only be slower. */
      oneAtATime<Result>(work: () => Promise<Result>): Promise<Result>;
      /** Aborted when the process stops. */
      readonly stop: AbortSignal;
    };
  }
}

export const narrationPlugin = fastifyPlugin(async (app) => {
  const files = new RecordingFiles(app.settings);
  const stop = new AbortController();
  let last: Promise<unknown> = Promise.resolve();
  app.decorate('narration', {
    files,
    oneAtATime<Result>(work: () => Promise<Result>): Promise<Result> {
      const done = last.then(work, work);
      last = done.catch(() => {});
      return done;
    },
    stop: stop.signal,
  });
  nowAndThen(
    app,
    hour,
    () => tidyRecordings(app.database.pool, files),
    'recordings that nothing names could not be removed; they are later',
  );
  app.addHook('onClose', async () => stop.abort());
});
