// Keeps pages on the device, so that they open without a network. The worker answers with them only when the server does
// not, and only while the person they were kept for is the one signed in (see `server/web/browser/pages/offline.ts`).

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
    const addresses = new Set([
      ...['/assets/style.css', '/assets/report-entry.js', '/assets/my-games.js', '/assets/app.webmanifest'],
      ...['400Regular', '600SemiBold', '700Bold'].map((weight) => `/assets/fonts/${weight}.ttf`),
      ...['/assets/icon-192.png', '/favicon.ico', myGames, anyEntry],
    ]);
    await Promise.all([...addresses].map((address) => keep(cache, address)));
  } catch {
    // Without a worker the page works as long as it stays open.
  }
}

/** Keeps the entry page in view under its address, as the server gave it. */
export async function keepThisPage(): Promise<void> {
  try {
    await keep(await caches.open(kept), location.pathname);
  } catch {
    // As above.
  }
}

/** Keeps the entry page for a report that only this device knows: the server has no page of it yet. */
export async function keepEntryPage(address: string): Promise<void> {
  const cache = await caches.open(kept);
  const page = await cache.match(anyEntry);
  if (page) await cache.put(address, page);
}

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
