import { EntrySession } from '../entry-session.ts';
import { keepEntryPage, keepForOffline } from '../keep-for-offline.ts';
import { KeptGames, type ListedGame } from '../kept-games.ts';
import { LinkProblem, ServerLink } from '../server-link.ts';

// The observer's list, and their desk: keeps each accepted game on the device, says what waits to be sent and sends it, and lets a game
// be begun without a network.

const place = document.querySelector<HTMLElement>('#my-games');
const personId = place?.dataset.person;
const rows = [...document.querySelectorAll<HTMLElement>('[data-game]')];
const listed: ListedGame[] = rows.map(({ dataset }) => ({
  gameId: dataset.game!,
  reportId: dataset.report || undefined,
}));

if (place && personId) {
  const kept = keepForOffline(personId).then(() => KeptGames.open(personId).catch(() => undefined));
  // At once, before anything is waited for: without a network, a form that the browser sends itself ends on its error page.
  for (const row of rows) {
    row.querySelector('form.begin')?.addEventListener('submit', (event) => void begin(event, kept, row));
  }
  const games = await kept;
  if (games) await work(games, place, personId);
}

async function work(games: KeptGames, place: HTMLElement, personId: string): Promise<void> {
  const asOf = new Date();
  const showAll = async () => {
    await Promise.all(listed.map(({ gameId }) => show(games, gameId)));
    await sayNotSent(games);
  };
  const bringUpToDate = async () => {
    try {
      await games.keep(listed, (gameId) => void show(games, gameId));
      say(place, '');
    } catch {
      say(
        place,
        `No connection. Games that are kept on this device open all the same, and what you enter is sent later. The list is as of ${asOf.toLocaleString()}.`,
      );
    }
    await showAll();
  };
  await showAll();
  await bringUpToDate();
  const sendAndRefresh = async () => {
    await sendWaiting(games, personId);
    await bringUpToDate();
  };
  window.addEventListener('online', () => void sendAndRefresh());
  await sendWaiting(games, personId);
  place.dataset.ready = 'true';
}

function say(place: HTMLElement, words: string): void {
  const status = place.querySelector('[role=status]')!;
  status.textContent = words;
  status.className = words ? 'notice warn' : 'soft';
}

async function show(games: KeptGames, gameId: string): Promise<void> {
  const row = rows.find(({ dataset }) => dataset.game === gameId)!;
  const words = row.querySelector('.on-device');
  const on = await games.on(gameId);
  if (!words) return;
  words.textContent = !on?.kept
    ? ''
    : on.notSent > 0
      ? `On this device, ${on.notSent} ${on.notSent === 1 ? 'change' : 'changes'} not yet sent`
      : 'Opens without a network';
}

/** On the desk: what waits on this device over all its games, until it is sent. */
async function sayNotSent(games: KeptGames): Promise<void> {
  const words = document.querySelector<HTMLElement>('#not-sent');
  if (!words) return;
  const waiting = (await Promise.all(listed.map(({ gameId }) => games.on(gameId))))
    .map((on) => on?.notSent ?? 0)
    .filter((count) => count > 0);
  const changes = waiting.reduce((sum, count) => sum + count, 0);
  words.hidden = changes === 0;
  words.textContent =
    changes === 0
      ? ''
      : `Not sent yet from this device: ${changes} ${changes === 1 ? 'change' : 'changes'} of ${waiting.length} ${waiting.length === 1 ? 'game' : 'games'}. They go out by themselves once there is a network.`;
}

/** Under the id that this device has for it, so that beginning with a network and without are the same. */
async function begin(event: Event, kept: Promise<KeptGames | undefined>, row: HTMLElement): Promise<void> {
  const form = event.currentTarget as HTMLFormElement;
  event.preventDefault();
  const gameId = row.dataset.game!;
  const games = await kept;
  const on = await games?.on(gameId);
  if (!on?.kept) return form.submit();
  try {
    const reportId = on.opened ? on.reportId : await new ServerLink(on.reportId).open(gameId);
    location.assign(entryOf(reportId));
  } catch (error) {
    if (!(error instanceof LinkProblem) || error.reason !== 'no connection') return form.submit();
    await keepEntryPage(entryOf(on.reportId));
    location.assign(entryOf(on.reportId));
  }
}

// A declaration, so that it is there while the page still waits above.
function entryOf(reportId: string): string {
  return `/reports/${reportId}/entry`;
}

/** Each report with something to send is started for as long as it takes. */
async function sendWaiting(games: KeptGames, personId: string): Promise<void> {
  for (const { gameId } of listed) {
    const on = await games.on(gameId);
    if (!on || on.notSent === 0) continue;
    const session = await EntrySession.start(on.reportId, personId);
    const tell = async () => {
      await show(games, gameId);
      await sayNotSent(games);
    };
    session.subscribe(() => void tell());
    // It may all have been sent by now.
    await tell();
  }
}
