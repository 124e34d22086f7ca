import { readdir } from 'node:fs/promises';
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import fastifyStatic from '@fastify/static';
import { build } from 'esbuild';
import type { FastifyInstance } from 'fastify';

/** Of this process: the modules are the same for every application in it. */
let bundled: Promise<Map<string, string>> | undefined;

const here = (relative: string) => fileURLToPath(new URL(relative, import.meta.url));

/** Serves /assets: the style sheet, the font, and the browser modules bundled from TypeScript at start. */
export async function assetRoutes(app: FastifyInstance): Promise<void> {
  bundled ??= bundleBrowserModules(here('..'));
  const bundles = await bundled;

  app.get('/assets/:name.js', alike, async (request, reply) => {
    const { name } = request.params as { name: string };
    const bundle = bundles.get(name);
    if (!bundle) return reply.callNotFound();
    return (
      reply
        .type('text/javascript; charset=utf-8')
        .header('cache-control', 'no-cache')
        // The observers' worker keeps their list and its games, and sees who signs in and out.
        .header('service-worker-allowed', '/')
        .send(bundle)
    );
  });

  for (const weight of ['400Regular', '600SemiBold', '700Bold']) {
    const folder = here(`../../node_modules/@expo-google-fonts/source-sans-3/${weight}`);
    app.get(`/assets/fonts/${weight}.ttf`, alike, (_request, reply) =>
      reply.header('cache-control', 'public, max-age=604800').sendFile(`SourceSans3_${weight}.ttf`, folder),
    );
  }

  await app.register(fastifyStatic, { root: here('./assets'), serve: false });
  app.get('/assets/style.css', alike, (_request, reply) =>
    reply.header('cache-control', 'no-cache').sendFile('style.css'),
  );
  app.get('/assets/app.webmanifest', alike, (_request, reply) =>
    reply.type('application/manifest+json').header('cache-control', 'no-cache').sendFile('app.webmanifest'),
  );
  for (const icon of ['icon-180', 'icon-192', 'icon-512', 'icon-maskable-512']) {
    app.get(`/assets/${icon}.png`, alike, (_request, reply) =>
      reply.header('cache-control', 'public, max-age=604800').sendFile(`${icon}.png`),
    );
  }
  app.get('/favicon.ico', alike, (_request, reply) => reply.type('image/svg+xml').sendFile('mark.svg'));
}

const alike = { config: { nobodyAsked: true }, schema: { hide: true } } as const;

/** Each part's `browser/pages/NAME.ts` is what a page loads as NAME. */
async function bundleBrowserModules(server: string): Promise<Map<string, string>> {
  const files = await readdir(server, { recursive: true });
  const entries = files.filter((file) => /^[^/\\]+[/\\]browser[/\\]pages[/\\][^/\\]+\.ts$/.test(file));
  const bundles = new Map<string, string>();
  if (entries.length === 0) return bundles;
  const result = await build({
    entryPoints: entries.map((name) => path.join(server, name)),
    bundle: true,
    write: false,
    format: 'esm',
    target: 'es2022',
    jsx: 'automatic',
    jsxImportSource: 'preact',
    minify: true,
    outdir: '/',
    entryNames: '[name]',
    logLevel: 'silent',
  });
  for (const file of result.outputFiles) bundles.set(path.basename(file.path, '.js'), file.text);
  return bundles;
}
