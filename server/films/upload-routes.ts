import { AsyncLocalStorage } from 'node:async_hooks';
import { FileStore } from '@tus/file-store';
import { ERRORS, Server, Upload } from '@tus/server';
import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../accounts/policy.ts';
import { conflict, invalid, notFound, Problem } from '../web/problem.ts';
import { readUploadMetadata } from './film-input.ts';
import { addFilm, type Film, findFilm, noteArrived } from './film-store.ts';

const version = '1.0.0';
const ofGame = z.object({ gameId: z.uuid() });
const ofFilm = ofGame.extend({ filmId: z.uuid() });
/** Less than this is no room to write into. */
const leastRoom = 64e6;

interface UploadOfFilm {
  readonly conferenceId: string;
  readonly film: Film;
}

/**
 * Uploads that go on where they broke off, by the tus protocol 1.0.0 (https://tus.io/protocols/resumable-upload). Who
 * may, what is taken and whether there is room is for us to say, before the protocol's own server gets the request.
 */
export async function filmUploadRoutes(app: FastifyInstance): Promise<void> {
  const { pool } = app.database;
  const { files } = app.films;
  const underway = new AsyncLocalStorage<UploadOfFilm>();
  const current = () => {
    const upload = underway.getStore();
    if (!upload) throw new Error('No upload is underway.');
    return upload;
  };
  const fileId = ({ conferenceId, film }: UploadOfFilm) => `${conferenceId}/${film.id}`;
  const address = (film: Film) => `/api/games/${film.gameId}/films/uploads/${film.id}`;

  // Made with the first upload: it makes its folder, which most conferences never need.
  let made: Server | undefined;
  const server = () => {
    made ??= new Server({
      path: '/api/games',
      datastore: new FileStore({
        directory: files.folder,
        // The film's row tells all that there is to know of an upload.
        configstore: {
          get: async () => {
            const upload = current();
            const { bytes: size, madeAt } = upload.film;
            return new Upload({ id: fileId(upload), size, offset: 0, creation_date: madeAt.toISOString() });
          },
          set: async () => {},
          delete: async () => {},
        },
      }),
      namingFunction: () => fileId(current()),
      getFileIdFromRequest: () => fileId(current()),
      generateUrl: () => address(current().film),
      allowedOrigins: [],
      maxSize: () => current().film.bytes,
      onUploadFinish: async () => {
        const { conferenceId, film } = current();
        await noteArrived(pool, conferenceId, film.id);
        app.films.wake();
        return {};
      },
      // Of a disk that is full it only knows that writing failed.
      onResponseError: async (_request, error) => {
        if (error !== ERRORS.FILE_WRITE_ERROR || ((await files.room()) ?? leastRoom) >= leastRoom)
          return undefined;
        return { status_code: 507, body: `${noRoom.message}\n` };
      },
    });
    return made;
  };

  const handOver = async (request: FastifyRequest, reply: FastifyReply, upload: UploadOfFilm) => {
    reply.hijack();
    await underway.run(upload, () => server().handle(request.raw, reply.raw));
    return reply;
  };

  const ofProtocol = (request: FastifyRequest, reply: FastifyReply) => {
    if (request.headers['tus-resumable'] === version) return;
    reply.header('tus-version', version);
    throw new Problem(
      412,
      'Another protocol',
      `Uploads of films follow the tus protocol: send the header Tus-Resumable: ${version}.`,
    );
  };

  /** The film whose upload it is, while it arrives. */
  const uploadOf = async (request: FastifyRequest): Promise<UploadOfFilm> => {
    const { conferenceId } = sessionOf(request);
    const { gameId, filmId } = request.params as z.infer<typeof ofFilm>;
    const film = await findFilm(pool, conferenceId, gameId, filmId);
    if (film.source !== 'upload') throw notFound('upload');
    return { conferenceId, film };
  };

  await app.register(async (scoped) => {
    const routes = scoped.withTypeProvider<ZodTypeProvider>();
    const config = { policy: policies.coordinator };
    scoped.removeAllContentTypeParsers();
    // Left unread: the protocol's server reads it from the connection.
    scoped.addContentTypeParser('application/offset+octet-stream', (_request, _body, done) => done(null));

    routes.post(
      '/api/games/:gameId/films/uploads',
      { config, schema: { hide: true, params: ofGame } },
      async (request, reply) => {
        ofProtocol(request, reply);
        const bytes = Number(request.headers['upload-length'] ?? NaN);
        if (!Number.isSafeInteger(bytes) || bytes < 1)
          throw invalid([{ field: 'Upload-Length', message: 'must tell the file’s bytes, at least 1' }]);
        const told = readUploadMetadata(String(request.headers['upload-metadata'] ?? ''));
        if (!told.success)
          throw invalid(
            told.error.issues.map(({ path, message }) => ({
              field: `Upload-Metadata ${path.join('.')}`,
              message,
            })),
          );
        const session = sessionOf(request);
        await files.prepare(session.conferenceId);
        if (((await files.room()) ?? Number.POSITIVE_INFINITY) < bytes + leastRoom) throw noRoom;
        const { angle, filename } = told.data;
        const film = await addFilm(pool, session, request.params.gameId, {
          ...{ angle, source: 'upload', place: null, fileName: filename, bytes },
        });
        return handOver(request, reply, { conferenceId: session.conferenceId, film });
      },
    );

    routes.patch(
      '/api/games/:gameId/films/uploads/:filmId',
      { config, schema: { hide: true, params: ofFilm } },
      async (request, reply) => {
        ofProtocol(request, reply);
        const upload = await uploadOf(request);
        if (upload.film.state !== 'arriving')
          throw conflict('All of this film has arrived; nothing is taken to it.');
        return handOver(request, reply, upload);
      },
    );

    // How much is here: asked before an upload goes on.
    routes.head(
      '/api/games/:gameId/films/uploads/:filmId',
      { config, schema: { hide: true, params: ofFilm } },
      async (request, reply) => {
        ofProtocol(request, reply);
        const upload = await uploadOf(request);
        const { conferenceId, film } = upload;
        const isWhole = (await files.arrived(conferenceId, film.id)) === film.bytes;
        if (film.state !== 'arriving' || isWhole) {
          await noteArrived(pool, conferenceId, film.id);
          app.films.wake();
          return reply
            .headers({ 'tus-resumable': version, 'cache-control': 'no-store' })
            .headers({ 'upload-offset': String(film.bytes), 'upload-length': String(film.bytes) })
            .send();
        }
        return handOver(request, reply, upload);
      },
    );
  });
}

const noRoom = new Problem(
  507,
  'No room left to save',
  'The disk of the server has too little room for this film. Whoever runs the server has to free some, or set FILM_STORE to a larger disk; then go on.',
);
