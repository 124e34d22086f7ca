import { Upload } from 'tus-js-client';

// The page of a game's films: uploads go on where they broke off, and films that are looked at say how far that is.

/** In pieces, so that no request outlasts what a proxy in between allows. */
const pieceBytes = 32 * 1024 * 1024;
const lookEveryMs = 2000;

let underway = false;

const form = document.querySelector<HTMLFormElement>('form[data-upload]');
if (form) handleUploads(form);
if (document.querySelector('[data-film][data-state="waiting"]')) setTimeout(look, lookEveryMs);

function handleUploads(form: HTMLFormElement): void {
  const fault = form.querySelector<HTMLElement>('[role=alert]')!;
  const shown = form.querySelector<HTMLElement>('[data-underway]')!;
  const says = form.querySelector<HTMLElement>('[data-says]')!;
  const bar = form.querySelector('progress')!;
  const stop = form.querySelector<HTMLButtonElement>('[data-stop]')!;
  const begin = form.querySelector<HTMLButtonElement>('[type=submit]')!;
  const token = document.querySelector<HTMLInputElement>('input[name=_csrf]')?.value ?? '';
  let upload: Upload | undefined;

  const tell = (text: string) => {
    fault.textContent = text;
    fault.hidden = text === '';
  };
  const end = () => {
    underway = false;
    begin.disabled = false;
    stop.hidden = true;
  };

  form.addEventListener('submit', async (event) => {
    event.preventDefault();
    const file = form.querySelector<HTMLInputElement>('input[type=file]')!.files?.[0];
    const angle = form.querySelector<HTMLInputElement>('[name=uploadAngle]')!.value.trim();
    if (!file || underway) return;
    if (file.size > Number(form.dataset.largest)) {
      tell(
        `The file has ${Math.ceil(file.size / 1e6)} MB, more than one may have here. Export it smaller, or raise the limit in the settings.`,
      );
      return;
    }
    tell('');
    underway = true;
    begin.disabled = true;
    stop.hidden = false;
    shown.hidden = false;
    upload = new Upload(file, {
      endpoint: form.dataset.upload!,
      chunkSize: pieceBytes,
      // For about five minutes; then the person decides, and nothing that is there is lost.
      retryDelays: [0, 1000, 2000, 5000, 10_000, 20_000, 30_000, 60_000, 60_000, 60_000],
      metadata: { angle, filename: file.name },
      headers: { 'x-csrf-token': token },
      removeFingerprintOnSuccess: true,
      onProgress: (sent, all) => {
        bar.value = (sent / all) * 100;
        says.textContent = `Uploading: ${(sent / 1e6).toFixed(1)} of ${(all / 1e6).toFixed(1)} MB`;
      },
      onShouldRetry: (error) => {
        const status = error.originalResponse?.getStatus() ?? 0;
        says.textContent = 'The connection was cut; it goes on by itself';
        // What was said about the request itself does not change by asking again.
        return status === 0 || status >= 500 || status === 409 || status === 423 || status === 408;
      },
      onError: (error) => {
        end();
        tell(saidBy(error));
      },
      onSuccess: () => {
        underway = false;
        location.assign(form.dataset.after!);
      },
    });
    const [earlier] = await upload.findPreviousUploads();
    if (earlier) upload.resumeFromPreviousUpload(earlier);
    upload.start();
  });

  stop.addEventListener('click', async () => {
    await upload?.abort();
    end();
    says.textContent = 'Stopped. Upload the same file to go on where it was';
  });
  addEventListener('beforeunload', (event) => {
    if (underway) event.preventDefault();
  });
}

/** What the server said (RFC 9457), or that it did not answer. */
function saidBy(error: Error): string {
  const body = (error as { originalResponse?: { getBody(): string } | null }).originalResponse?.getBody();
  try {
    const { detail } = JSON.parse(body ?? '') as { detail?: string };
    if (detail) return detail;
  } catch {
    // said below
  }
  return 'The server did not answer for some minutes. What has arrived is kept: upload the same file again to go on.';
}

interface Told {
  readonly id: string;
  readonly state: string;
  readonly progress: number;
}

/** How far looking is; once a film is ready or refused, the page is loaded again, unless somebody is at work on it. */
async function look(): Promise<void> {
  const game = location.pathname.split('/')[2];
  const answer = await fetch(`/api/games/${game}/films`).catch(() => undefined);
  const films = answer?.ok ? ((await answer.json()) as Told[]) : [];
  let isNew = false;
  for (const card of document.querySelectorAll<HTMLElement>('[data-film][data-state="waiting"]')) {
    const film = films.find(({ id }) => id === card.dataset.film);
    if (!film) continue;
    const bar = card.querySelector('progress');
    if (bar) bar.value = film.progress * 100;
    if (film.state !== 'waiting') isNew = true;
  }
  const atWork = underway || document.activeElement?.matches('input, select, summary');
  if (isNew && !atWork) return location.reload();
  setTimeout(look, lookEveryMs);
}
