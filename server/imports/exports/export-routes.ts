import { once } from 'node:events';
import { PassThrough, Readable } from 'node:stream';
import type { FastifyInstance, FastifyReply } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import type pg from 'pg';
import yazl from 'yazl';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { seasonNamed } from '../../schedule/seasons.ts';
import { csvChoice } from '../../web/csv-file.ts';
import { notFound } from '../../web/problem.ts';
import { type Separator, separators } from '../csv/separator.ts';
import type { FileKind } from '../files/file-kind.ts';
import { fileKindNamed, fileKinds } from '../files/index.ts';
import { exportFile, type WrittenAs } from './export-file.ts';
import { exportQueries } from './export-queries.ts';

const kindNames = fileKinds.map((kind) => kind.format.name) as [string, ...string[]];
const separatorNames = Object.keys(separators) as [Separator, ...Separator[]];

const query = z.object({
  season: z
    .string()
    .max(100)
    .optional()
    .describe('The name of a season; without it, every season that is not closed.'),
  separator: z.enum(separatorNames).default('comma'),
  ...csvChoice,
});

interface Which {
  conferenceId: string;
  seasonId: string | null;
}

/** Every kind of file that can be imported, written out in the same form. */
export async function exportRoutes(app: FastifyInstance): Promise<void> {
  const routes = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;
  const { pool } = database;
  const config = { policy: policies.coordinator };

  const which = async (conferenceId: string, season: string | undefined): Promise<Which> => {
    if (season === undefined || season === '') return { conferenceId, seasonId: null };
    const found = await seasonNamed(database, conferenceId, season);
    if (found === null) throw notFound('season');
    return { conferenceId, seasonId: found.id };
  };

  routes.get(
    '/api/exports/:kind',
    {
      config,
      schema: {
        summary: 'One kind of file with all there is of it, in the form in which it is imported',
        description:
          'CSV (RFC 4180) in UTF-8. Correct it in a spreadsheet and import it again: what was not touched is not changed. A cell that a spreadsheet would take for a formula has an apostrophe before it, which an import takes away.',
        tags: ['import'],
        params: z.object({ kind: z.enum(kindNames) }),
        querystring: query,
      },
    },
    async (request, reply) => {
      const kind = fileKindNamed(request.params.kind)!;
      const { season, separator, mark } = request.query;
      const asked = await which(sessionOf(request).conferenceId, season);
      const name = exportQueries[kind.format.name]?.bySeason
        ? named(kind, season)
        : `${kind.format.name}.csv`;
      attach(reply.type('text/csv; charset=utf-8'), name);
      return reply.send(
        Readable.from(
          inSnapshot(pool, (client) => exportFile(client, kind, asked, { separator, byteOrderMark: mark })),
          {
            objectMode: false,
          },
        ),
      );
    },
  );

  routes.get(
    '/api/exports',
    {
      config,
      schema: {
        summary: 'Every kind of file, as a ZIP',
        tags: ['import'],
        querystring: query,
      },
    },
    async (request, reply) => {
      const { season, separator, mark } = request.query;
      const asked = await which(sessionOf(request).conferenceId, season);
      attach(reply.type('application/zip'), named(undefined, season));
      return reply.send(zipOfExports(pool, asked, { separator, byteOrderMark: mark }));
    },
  );
}

/** `plays-2026.csv`: a name that an import knows again. */
function named(kind: FileKind | undefined, season: string | undefined): string {
  const year = (season ?? '').replace(/[^\w.-]+/g, '-').replace(/^-+|-+$/g, '');
  return `${kind?.format.name ?? 'season-files'}${year === '' ? '' : `-${year}`}.${kind ? 'csv' : 'zip'}`;
}

const attach = (reply: FastifyReply, name: string) =>
  reply.header('content-disposition', `attachment; filename="${name}"`);

/** Reads within one transaction, so that all there is to read is of one moment. */
async function* inSnapshot<Piece>(
  pool: pg.Pool,
  read: (client: pg.PoolClient) => AsyncIterable<Piece>,
): AsyncGenerator<Piece> {
  const client = await pool.connect();
  let done = false;
  try {
    await client.query('BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY');
    yield* read(client);
    await client.query('COMMIT');
    done = true;
  } finally {
    client.release(!done);
  }
}

function zipOfExports(pool: pg.Pool, asked: Which, as: WrittenAs): Readable {
  const zip = new yazl.ZipFile();
  const output = zip.outputStream as Readable;
  async function* files(client: pg.PoolClient) {
    for (const kind of fileKinds) {
      const entry = new PassThrough();
      zip.addReadStream(entry, `${kind.format.name}.csv`);
      for await (const piece of exportFile(client, kind, asked, as)) {
        if (output.destroyed) return;
        if (!entry.write(piece)) await Promise.race([once(entry, 'drain'), once(output, 'close')]);
      }
      entry.end();
      yield kind;
    }
  }
  void (async () => {
    for await (const _ of inSnapshot(pool, files));
    zip.end();
  })().catch((error) => output.destroy(error));
  return output;
}
