// Choosing a column shows at once what stands in it: the form is sent to be looked at, and the page comes back where it
// was. Without script the button “Show what it gives” does the same.

const form = document.querySelector<HTMLFormElement>('form.log-mapping');
const show = form?.querySelector<HTMLButtonElement>('button[value="show"]');
const place = 'crewmark-log-mapping';

const kept = sessionStorage.getItem(place);
sessionStorage.removeItem(place);
if (kept !== null && form) {
  const { path, top, open, focus } = JSON.parse(kept) as {
    path: string;
    top: number;
    open: number[];
    focus: string;
  };
  if (path === location.pathname) {
    const folds = form.querySelectorAll('details');
    for (const at of open) folds[at]?.setAttribute('open', '');
    window.scrollTo({ top });
    form.querySelector<HTMLElement>(`[name="${CSS.escape(focus)}"]`)?.focus({ preventScroll: true });
  }
}

form?.addEventListener('change', (event) => {
  const target = event.target as HTMLElement;
  if (target.matches('select[data-shows]')) form.requestSubmit(show);
});
form?.addEventListener('submit', (event) => {
  if ((event.submitter as HTMLButtonElement | null)?.value !== 'show') return;
  const open = [...form.querySelectorAll('details')].flatMap((fold, at) => (fold.open ? [at] : []));
  const focus = document.activeElement?.getAttribute('name') ?? '';
  sessionStorage.setItem(
    place,
    JSON.stringify({ path: location.pathname, top: window.scrollY, open, focus }),
  );
});
