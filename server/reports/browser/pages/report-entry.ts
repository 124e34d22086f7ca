import { h, render } from 'preact';
import { z } from 'zod';
import { EntryApp } from '../entry-app.tsx';
import { EntrySession } from '../entry-session.ts';
import { keepForOffline } from '../keep-for-offline.ts';

// Validators are not compiled from text here: the page's policy allows no such code.
z.config({ jitless: true });

const place = document.querySelector<HTMLElement>('#report-entry');
const reportId = place?.dataset.report;
if (place && reportId) {
  void keepForOffline();
  const session = await EntrySession.start(reportId);
  place.replaceChildren();
  render(h(EntryApp, { session }), place);
  // For tests, and for whoever helps an observer over the telephone.
  place.dataset.ready = 'true';
}
