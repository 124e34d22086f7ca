// The service worker of the report entry page: from the network when there is one, from the device when there is not.
type WorkerEvent = Event & { waitUntil(work: Promise<unknown>): void };
type FetchEventOfWorker = Event & { request: Request; respondWith(answer: Promise<Response>): void };
const worker = self as unknown as EventTarget & {
  skipWaiting(): Promise<void>;
  clients: { claim(): Promise<void> };
};

worker.addEventListener('install', (event) => (event as WorkerEvent).waitUntil(worker.skipWaiting()));
worker.addEventListener('activate', (event) => (event as WorkerEvent).waitUntil(worker.clients.claim()));

worker.addEventListener('fetch', (event) => {
  const { request } = event as FetchEventOfWorker;
  const address = new URL(request.url);
  if (request.method !== 'GET' || address.origin !== location.origin) return;
  const isEntryPage = request.mode === 'navigate' && /^\/reports\/[^/]+\/entry$/.test(address.pathname);
  if (!isEntryPage && !address.pathname.startsWith('/assets/')) return;
  (event as FetchEventOfWorker).respondWith(networkElseKept(request, address.pathname));
});

async function networkElseKept(request: Request, pathname: string): Promise<Response> {
  const cache = await caches.open('crewmark-pages');
  try {
    const answer = await fetch(request);
    if (answer.ok && !answer.redirected) {
      await cache.put(pathname, answer.clone());
      return answer;
    }
    if (answer.status < 500) return answer;
    return (await cache.match(pathname)) ?? answer;
  } catch (error) {
    const kept = await cache.match(pathname);
    if (kept) return kept;
    throw error;
  }
}
