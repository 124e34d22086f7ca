import os from 'node:os';
import path from 'node:path';
import type { Readable } from 'node:stream';
import fastifyStatic from '@fastify/static';
import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../accounts/policy.ts';
import { bytesOf } from '../films/film-files.ts';
import { keepRecording, tooLarge } from '../narration/keep-recording.ts';
import { mostBytes, mostSeconds, soundTypes } from '../narration/recording.ts';
import { recordingOf } from '../narration/recording-store.ts';
import { Problem } from '../web/problem.ts';
import { answerOfRecording, recordingAnswer } from './cut-answer.ts';
import { playAddress, tags } from './program-answer.ts';
import { playIn } from './stores/play-store.ts';
import { readProgram } from './stores/program-rows.ts';

const gone =
  'The recording’s file is no longer on the server: a backup does not hold it. Whoever runs the server copies it back, or record it again.';

/** Narrations that people spoke, for the coordinator: sent as files, and heard. */
export async function recordingRoutes(app: FastifyInstance): Promise<void> {
  // Read as it comes, not collected.
  app.addContentTypeParser([...soundTypes], (_request, payload, done) => done(null, payload));
  const routes = app.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;
  const config = { policy: policies.coordinator };

  routes.post(
    '/api/training-programs/:programId/plays/:playId/recordings',
    {
      config: { ...config, judgesBody: true },
      schema: {
        tags,
        summary: 'Send a recording of a play’s narration',
        description: `The body is the file: WAV, MP3, M4A, OGG, FLAC or WebM, ${mostBytes / 1e6} MB and ${mostSeconds / 60} minutes at most. It is kept as FLAC of one channel, without anything that tells whose it is, and is heard in a reel once the play’s cut names it as its voice. One that nothing names goes after a week.`,
        consumes: [...soundTypes],
        params: playAddress,
        response: { 201: recordingAnswer },
      },
    },
    async (request, reply) => {
      const acting = sessionOf(request);
      const { programId, playId } = request.params;
      playIn(await readProgram(pool, acting.conferenceId, programId), playId);
      const body = request.body as Readable | null | undefined;
      if (body === null || body === undefined || typeof body[Symbol.asyncIterator] !== 'function')
        throw new Problem(
          415,
          'Not a sound',
          'Send the sound’s file as the body, with its content type, such as audio/wav.',
        );
      if (Number(request.headers['content-length'] ?? 0) > mostBytes) throw tooLarge;
      const id = await keepRecording(app, acting, { programId, playId }, body);
      const kept = await recordingOf(pool, acting.conferenceId, programId, id);
      return reply.code(201).send(answerOfRecording(programId, kept));
    },
  );

  await app.register(async (scoped) => {
    // It wants a root that is there; each file names its own folder.
    await scoped.register(fastifyStatic, { root: os.tmpdir(), serve: false });
    scoped
      .withTypeProvider<ZodTypeProvider>()
      .get(
        '/training/programs/:programId/recordings/:recordingId.flac',
        { config, schema: { hide: true, params: z.object({ programId: z.uuid(), recordingId: z.uuid() }) } },
        async (request, reply) => {
          const { conferenceId } = sessionOf(request);
          const { programId, recordingId } = request.params;
          await recordingOf(pool, conferenceId, programId, recordingId);
          const file = app.narration.files.kept(conferenceId, recordingId);
          if ((await bytesOf(file)) === 0) throw new Problem(404, 'Not found', gone);
          return reply
            .header('content-type', 'audio/flac')
            .header('content-disposition', `inline; filename="recording-${recordingId}.flac"`)
            .header('cache-control', 'private, no-cache')
            .sendFile(path.basename(file), path.dirname(file), { contentType: false, cacheControl: false });
        },
      );
  });
}
