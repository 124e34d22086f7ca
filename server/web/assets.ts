import type { FastifyInstance, FastifyRequest } from 'fastify';
import fastifyPlugin from 'fastify-plugin';
import { type Asset, type AssetSet, contentName, type Encoding, isWorthPacking, pack } from './asset-set.ts';
import { isBuilt, readBuiltAssets } from './built-assets.ts';
import { keptFiles, keptScripts } from './kept-offline.ts';
import { unchanged } from './unchanged.ts';

declare module 'fastify' {
  interface FastifyInstance {
    assets: AssetSet;
  }
}

/** Of this process: they are the same for every application in it. */
let found: Promise<Served> | undefined;

interface Served {
  readonly set: AssetSet;
  readonly packed: (asset: Asset, encoding: Encoding) => Promise<Buffer>;
}

/** What browsers load, as `npm run build` left it, or else made now. */
async function findAssets(): Promise<Served> {
  if (isBuilt()) return readBuiltAssets();
  const { makeAssets } = await import('./make-assets.ts');
  const kept = new Map<string, Promise<Buffer>>();
  return {
    set: await makeAssets(),
    packed(asset, encoding) {
      const key = `${encoding} ${asset.name}`;
      const before = kept.get(key) ?? pack(asset.body, encoding);
      kept.set(key, before);
      return before;
    },
  };
}

/** Gives the application `assets`: where pages find what they load. */
export const assets = fastifyPlugin(async (app: FastifyInstance) => {
  found ??= findAssets();
  app.decorate('assets', (await found).set);
});

/**
 * Serves them. An address that names its content is never asked for again (RFC 8246); any other one each time, and
 * answered 304 where nothing changed (RFC 9110, section 13.1.2).
 */
export async function assetRoutes(app: FastifyInstance): Promise<void> {
  const { set, packed } = await found!;
  const encodings: readonly Encoding[] = ['br', 'gzip'];

  for (const asset of set.all) {
    const tag = contentName(asset.body);
    const packable = isWorthPacking(asset);
    app.get(asset.address, alike, async (request, reply) => {
      reply
        .type(asset.type)
        .header('cache-control', asset.lasting ? 'public, max-age=31536000, immutable' : 'no-cache');
      // The observers' worker keeps their list and its games, and sees who signs in and out.
      if (asset.name === 'offline.js') reply.header('service-worker-allowed', '/');
      const encoding = packable ? encodings.find((one) => accepts(request, one)) : undefined;
      if (packable) reply.header('vary', 'accept-encoding');
      if (unchanged(request, reply, encoding ? `"${tag}-${encoding}"` : `"${tag}"`))
        return reply.code(304).send();
      if (!encoding) return reply.send(asset.body);
      return reply.header('content-encoding', encoding).send(await packed(asset, encoding));
    });
  }

  const kept = [
    ...keptFiles.map((name) => set.address(name)),
    ...keptScripts.flatMap((name) => set.withNeeds(name)),
  ];
  app.get('/assets/kept-offline.json', alike, async (_request, reply) =>
    reply.header('cache-control', 'no-cache').send([...new Set(kept)]),
  );
}

const alike = { compress: false, config: { nobodyAsked: true }, schema: { hide: true } } as const;

function accepts(request: FastifyRequest, encoding: Encoding): boolean {
  const header = String(request.headers['accept-encoding'] ?? '').toLowerCase();
  return header
    .split(',')
    .map((one) => one.split(';').map((part) => part.trim()))
    .some(([name, quality = 'q=1']) => name === encoding && !/^q=0(\.0*)?$/.test(quality));
}
