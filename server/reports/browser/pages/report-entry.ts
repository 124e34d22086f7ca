import { h, render } from 'preact';
import * as z from 'zod/mini';
import inEnglish from 'zod/v4/locales/en.js';
import { EntryApp } from '../entry-app.tsx';
import { EntrySession } from '../entry-session.ts';
import { keepEntryPage, keepForOffline } from '../keep-for-offline.ts';
import { readAhead } from '../log-standing.ts';

// Validators are not compiled from text here: the page's policy allows no such code. Of the words for what does not fit
// only the English ones are loaded.
z.config({ ...inEnglish(), jitless: true });

const place = document.querySelector<HTMLElement>('#report-entry');
// Kept on a device, the page may be that of no report in particular: the address says which.
const reportId = place?.dataset.report || /^\/reports\/([0-9a-f-]{36})\/entry$/.exec(location.pathname)?.[1];
const personId = place?.dataset.person;
if (place && personId && reportId) {
  void keepForOffline(personId)
    .then(() => keepEntryPage(location.pathname))
    .catch(() => {});
  const session = await EntrySession.start(reportId, personId);
  const follow = () => {
    if (session.movedTo) location.replace(`/reports/${session.movedTo}/entry`);
  };
  session.subscribe(follow);
  follow();
  // The browser answers in between, as it would not while all of a long log is gone through at once.
  if (session.state) for (const _ of readAhead(session.state)) await new Promise((next) => setTimeout(next));
  place.replaceChildren();
  render(h(EntryApp, { session }), place);
  // For tests, and for whoever helps an observer over the telephone.
  place.dataset.ready = 'true';
} else if (place) {
  const words = document.createElement('p');
  words.append(
    'Choose the game under ',
    Object.assign(document.createElement('a'), { href: '/my/games', textContent: 'My games' }),
    '.',
  );
  place.replaceChildren(words);
}
