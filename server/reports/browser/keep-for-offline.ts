// Keeps pages on the device, so that they open without a network. The worker answers with them only when the server does
// not, and only while the person they were kept for is the one signed in (see `server/web/browser/pages/offline.ts`).

import { namesItsContent } from '../../web/browser/asset-address.ts';

const kept = 'crewmark-pages';
/** Whom the pages are kept for. */
const keptFor = '/kept-for';
const myGames = '/my/games';
/** The entry page of no report in particular. */
const anyEntry = '/my/entry-page';

/** Sets the worker up and keeps the list of games and the entry page, with all that they load. */
export async function keepForOffline(personId: string): Promise<void> {
  if (!('serviceWorker' in navigator)) return;
  try {
    for (const before of await navigator.serviceWorker.getRegistrations()) {
      // Its place was smaller in earlier versions; it would stand before this one.
      if (new URL(before.scope).pathname !== '/') await before.unregister();
    }
    await navigator.serviceWorker.register('/assets/offline.js', { scope: '/', type: 'module' });
    const cache = await caches.open(kept);
    await keepOnlyFor(cache, personId);
    const assets: string[] = await (await fetch('/assets/kept-offline.json', { cache: 'no-cache' })).json();
    await Promise.all(assets.map((address) => keepAsset(cache, address)));
    await Promise.all([myGames, anyEntry].map((address) => keep(cache, address)));
    await leaveEarlierVersion(cache, assets);
  } catch {
    // Without a worker the page works as long as it stays open.
  }
}

/** Keeps the entry page under a report's address: the address says which it is, also where only this device knows. */
export async function keepEntryPage(address: string): Promise<void> {
  const cache = await caches.open(kept);
  const page = await cache.match(anyEntry);
  if (page) await cache.put(address, page);
}

/** From what the browser has already, where the address names its content; else asked whether it changed. */
async function keepAsset(cache: Cache, address: string): Promise<void> {
  if (!namesItsContent(address)) return keep(cache, address);
  if (await cache.match(address)) return;
  await cache.add(address);
}

/**
 * After a new version of the program: games' pages that are kept ask for its files too, and what only the earlier one
 * loaded goes. Until all of the new is there, the earlier version opens without a network as before.
 */
async function leaveEarlierVersion(cache: Cache, assets: readonly string[]): Promise<void> {
  const paths = (await cache.keys()).map(({ url }) => new URL(url).pathname);
  const old = paths.filter((path) => isReplaced(path) && !assets.includes(path));
  if (old.length === 0) return;
  for (const path of paths.filter((path) => /^\/reports\/[^/]+\/entry$/.test(path)))
    await keepEntryPage(path);
  await Promise.all(old.map((path) => cache.delete(path)));
}

/** What the list, an entry page and their font load; other pages' own scripts may be of any version. */
const isReplaced = (path: string) =>
  /^\/assets\/(fonts\/|style\b|report-entry\b|my-games\b|shared-|latin-(?!ext))/.test(path);

async function keep(cache: Cache, address: string): Promise<void> {
  const answer = await fetch(address, { cache: 'no-cache' });
  // Never keep a sign-in page in the place of another.
  if (answer.ok && !answer.redirected) await cache.put(address, answer);
}

async function keepOnlyFor(cache: Cache, personId: string): Promise<void> {
  const before = await cache.match(keptFor).then((answer) => answer?.text());
  if (before === personId) return;
  for (const { url } of await cache.keys()) {
    const { pathname } = new URL(url);
    if (!pathname.startsWith('/assets/')) await cache.delete(pathname);
  }
  await cache.put(keptFor, new Response(personId));
}
