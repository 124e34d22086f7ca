/**
 * Keeps the page itself on the device, so that a reload without a network finds it. The worker answers for pages and
 * assets only when the server does not (see `server/web/browser/offline.ts`).
 */
export async function keepForOffline(): Promise<void> {
  if (!('serviceWorker' in navigator)) return;
  try {
    await navigator.serviceWorker.register('/assets/offline.js', { scope: '/reports/', type: 'module' });
    const cache = await caches.open('crewmark-pages');
    const assets = performance
      .getEntriesByType('resource')
      .map((entry) => new URL(entry.name))
      .filter((address) => address.origin === location.origin && address.pathname.startsWith('/assets/'))
      .map((address) => address.pathname);
    const addresses = new Set(['/assets/style.css', '/assets/report-entry.js', ...assets, location.pathname]);
    await Promise.all(
      [...addresses].map(async (address) => {
        const answer = await fetch(address, { cache: 'no-cache' });
        // Never keep a sign-in page in the place of this one.
        if (answer.ok && !answer.redirected) await cache.put(address, answer);
      }),
    );
  } catch {
    // Without a worker the page works as long as it stays open.
  }
}
