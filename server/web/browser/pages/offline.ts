// The service worker: from the network when there is one, from the device when there is not. What it keeps belongs to one
// person: a page for somebody else, or the sign-in page, and it is gone. What was entered and not yet sent is kept
// elsewhere (IndexedDB), marked with whose it is, and stays.
import { namesItsContent } from '../asset-address.ts';

type WorkerEvent = Event & { waitUntil(work: Promise<unknown>): void };
type FetchEventOfWorker = Event & { request: Request; respondWith(answer: Promise<Response>): void };
const worker = self as unknown as EventTarget & {
  skipWaiting(): Promise<void>;
  clients: { claim(): Promise<void> };
};

const myGames = '/my/games';
const anyEntry = '/my/entry-page';
const keptFor = '/kept-for';
const isEntry = (pathname: string) => /^\/reports\/[^/]+\/entry$/.test(pathname);
const isKept = (pathname: string) => pathname === myGames || pathname === anyEntry || isEntry(pathname);
const openCache = () => caches.open('crewmark-pages');

worker.addEventListener('install', (event) => (event as WorkerEvent).waitUntil(worker.skipWaiting()));
worker.addEventListener('activate', (event) => (event as WorkerEvent).waitUntil(worker.clients.claim()));

worker.addEventListener('fetch', (event) => {
  const { request, respondWith } = event as FetchEventOfWorker;
  const { origin, pathname } = new URL(request.url);
  if (origin !== location.origin) return;
  const answer = (made: Promise<Response>) => respondWith.call(event, made);
  if (request.mode === 'navigate') {
    if (request.method === 'GET') answer(page(request, pathname));
    else if (pathname === '/sign-out') answer(signOut(request));
  } else if (request.method === 'GET' && (pathname.startsWith('/assets/') || pathname === '/favicon.ico')) {
    answer(
      namesItsContent(pathname) ? keptElseNetwork(request, pathname) : networkElseKept(request, pathname),
    );
  }
});

async function page(request: Request, pathname: string): Promise<Response> {
  const cache = await openCache();
  let answer: Response;
  try {
    answer = await fetch(request);
  } catch {
    return withoutNetwork(cache, pathname);
  }
  await noteWho(cache, answer, pathname);
  if (answer.ok && !answer.redirected && isKept(pathname)) await cache.put(pathname, answer.clone());
  // 404: begun on this device, the server does not know it yet. 500 and above: it stumbled, or something before it did.
  else if (answer.status >= 500 || (answer.status === 404 && isEntry(pathname)))
    return (await cache.match(pathname)) ?? answer;
  return answer;
}

async function withoutNetwork(cache: Cache, pathname: string): Promise<Response> {
  const kept = await cache.match(pathname);
  if (kept) return kept;
  if (isEntry(pathname)) {
    const any = await cache.match(anyEntry);
    if (any) return any;
  }
  const list = await cache.match(myGames);
  if ((pathname === '/' || pathname === '/desk') && list) return Response.redirect(myGames);
  return noConnection(cache, list !== undefined);
}

/** Whom the server gave a page: what is kept for anybody else goes. */
async function noteWho(cache: Cache, answer: Response, pathname: string): Promise<void> {
  if (!(answer.headers.get('content-type') ?? '').startsWith('text/html')) return;
  const who = answer.headers.get('crewmark-person');
  if (who === null) {
    if (pathname === '/sign-in') await forget(cache);
    return;
  }
  const before = await cache.match(keptFor).then((kept) => kept?.text());
  if (before === who) return;
  await forget(cache);
  await cache.put(keptFor, new Response(who));
}

async function forget(cache: Cache): Promise<void> {
  for (const { url } of await cache.keys()) {
    const { pathname } = new URL(url);
    if (!pathname.startsWith('/assets/')) await cache.delete(pathname);
  }
}

/** Nothing stays in sight on this device, whether or not the server could be told. */
async function signOut(request: Request): Promise<Response> {
  const cache = await openCache();
  await forget(cache);
  try {
    return await fetch(request);
  } catch {
    return noConnection(cache, false);
  }
}

async function keptElseNetwork(request: Request, pathname: string): Promise<Response> {
  const kept = await (await openCache()).match(pathname);
  return kept ?? networkElseKept(request, pathname);
}

async function networkElseKept(request: Request, pathname: string): Promise<Response> {
  const cache = await openCache();
  try {
    const answer = await fetch(request);
    if (answer.ok && !answer.redirected) await cache.put(pathname, answer.clone());
    else if (answer.status >= 500) return (await cache.match(pathname)) ?? answer;
    return answer;
  } catch (error) {
    const kept = await cache.match(pathname);
    if (kept) return kept;
    throw error;
  }
}

async function noConnection(cache: Cache, listKept: boolean): Promise<Response> {
  const words = listKept
    ? 'This page is not kept on this device. Your games are: <a href="/my/games">My games</a>.'
    : 'Nothing is kept on this device for whoever is signed in. What was entered and not yet sent stays here, and is sent when its observer signs in again.';
  const kept = (await cache.keys()).map(({ url }) => new URL(url).pathname);
  const style = kept.findLast((pathname) => /^\/assets\/style\b.*\.css$/.test(pathname)) ?? '';
  return new Response(
    `<!doctype html><html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1"><title>No connection · Crewmark</title><link rel="stylesheet" href="${style}"></head><body><header class="masthead"><a class="wordmark" href="/">Crewmark</a></header><main id="main"><h1>No connection</h1><p class="lead">The server cannot be reached.</p><p>${words}</p></main></body></html>`,
    { status: 503, headers: { 'content-type': 'text/html; charset=utf-8' } },
  );
}
