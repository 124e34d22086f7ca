// The reel of a training program: goes on where its person was, stops at each question that they have not answered, and
// tells the server what was really played. What could not be sent stays on this device and goes with the next try.

import { withToken } from '../../../web/browser/with-token.ts';

const framesPerSecond = 30_000 / 1001;
/** A picture that is asked to stop is shown a frame or two later. */
const early = 2 / framesPerSecond;
const sendEveryMs = 5000;
const againMs = 3000;

interface Stop {
  readonly play: number;
  /** The first moment that is not shown. */
  readonly seconds: number;
}
interface Standing {
  readonly share: number;
  readonly answered: number;
}
interface Told {
  readonly question: string;
  readonly choices: readonly { text: string; isAcceptable: boolean | null; isYours: boolean }[];
  readonly answered: { readonly isRight: boolean } | null;
  readonly told: {
    readonly answer: string;
    readonly twoMechanics: boolean;
    readonly ruleCited: string;
    readonly mechanicCited: string;
    readonly keys: readonly string[];
  } | null;
}
type Stretch = [from: number, to: number];

const root = document.querySelector<HTMLElement>('[data-training]');
if (root) watch(root);

function watch(root: HTMLElement): void {
  const video = root.querySelector('video')!;
  const at = <Found extends HTMLElement = HTMLElement>(selector: string) =>
    root.querySelector<Found>(selector)!;
  const api = root.dataset.api!;
  const kept = `crewmark-training ${root.dataset.person} ${api}`;
  const stops = (JSON.parse(root.dataset.stops!) as Stop[]).sort((one, other) => one.seconds - other.seconds);
  const answered = new Set((root.dataset.answered ?? '').trim().split(/\s+/).map(Number));
  let asking: Stop | null = null;
  let opened = false;

  // Where to go on, and captions on.
  const begin = () => {
    const place = Number(root.dataset.place);
    if (place > 0 && place < video.duration - 1) video.currentTime = place;
    for (const track of video.textTracks) track.mode = 'showing';
  };
  if (video.readyState >= HTMLMediaElement.HAVE_METADATA) begin();
  else video.addEventListener('loadedmetadata', begin, { once: true });
  const isFaulty = () => {
    at('[data-fault]').hidden = false;
  };
  video.addEventListener('error', isFaulty);
  if (video.error) isFaulty();

  // Questions.
  const open = () => stops.find(({ play }) => !answered.has(play));
  const form = (play: number) => root.querySelector<HTMLFormElement>(`form[data-play="${play}"]`)!;

  function ask(stop: Stop): void {
    video.pause();
    const still = Math.max(0, stop.seconds - 0.5 / framesPerSecond);
    if (Math.abs(video.currentTime - still) > 0.01) video.currentTime = still;
    if (asking === stop) return;
    asking = stop;
    at('[data-question]').hidden = false;
    at('[data-told]').hidden = true;
    at('[data-go-on]').hidden = true;
    for (const each of root.querySelectorAll<HTMLFormElement>('form[data-play]'))
      each.hidden = each !== form(stop.play);
    if (document.fullscreenElement) void document.exitFullscreen();
    form(stop.play).querySelector('input')!.focus();
    form(stop.play).scrollIntoView({ block: 'nearest' });
    void send();
  }

  function look(): void {
    const stop = open();
    if (stop && video.currentTime >= stop.seconds - early) ask(stop);
  }
  const eachFrame = () => {
    if (video.paused) return;
    look();
    requestAnimationFrame(eachFrame);
  };
  video.addEventListener('play', () => {
    if (asking) video.pause();
    else requestAnimationFrame(eachFrame);
  });
  video.addEventListener('timeupdate', look);
  video.addEventListener('seeking', look);
  video.addEventListener('ratechange', () => {
    // Faster than it happened is not watched; slower is.
    if (video.playbackRate > 1) video.playbackRate = 1;
  });

  root.addEventListener('submit', async (event) => {
    event.preventDefault();
    const sent = event.target as HTMLFormElement;
    const play = Number(sent.dataset.play);
    const chosen = sent.querySelector<HTMLInputElement>('input:checked');
    if (!chosen) return;
    const button = sent.querySelector('button')!;
    button.disabled = true;
    // Asked until it is answered: the first answer counts, so it does no harm to send it again.
    for (;;) {
      const answer = await post('answers', { play, choice: Number(chosen.value) });
      if (answer?.ok) {
        const { play: told, standing } = (await answer.json()) as { play: Told; standing: Standing };
        show(standing);
        tell(told);
        sent.hidden = true;
        answered.add(play);
        break;
      }
      if (answer && answer.status < 500) {
        const wrong = sent.querySelector<HTMLElement>('[data-wrong]')!;
        wrong.textContent = ((await answer.json()) as { detail?: string }).detail ?? 'It was not taken.';
        wrong.hidden = false;
        button.disabled = false;
        return;
      }
      await new Promise((resolve) => setTimeout(resolve, againMs));
    }
  });

  function tell({ choices, answered: how, told }: Told): void {
    const box = at('[data-told]');
    const line = (tag: string, text: string, parent: HTMLElement = box) => {
      const element = Object.assign(document.createElement(tag), { textContent: text });
      parent.append(element);
      return element;
    };
    box.replaceChildren();
    line('h2', how?.isRight ? 'Acceptable' : 'Not acceptable');
    const list = line('ul', '');
    for (const { text, isAcceptable, isYours } of choices) {
      const item = line('li', `${text} `, list);
      if (isAcceptable) line('span', 'acceptable', item).className = 'tag good';
      if (isYours) line('span', 'your answer', item).className = 'tag';
    }
    if (told) {
      line('p', `${told.answer}${told.twoMechanics ? ' Two ways are acceptable.' : ''}`);
      const cited = [told.ruleCited, told.mechanicCited].filter((one) => one !== '');
      line(
        'p',
        [...cited, 'The current rules book, the manual and the conference’s policy prevail']
          .map((one) => `${one}.`)
          .join(' '),
      ).className = 'soft';
      const keys = line('ul', '');
      for (const key of told.keys) line('li', key, keys);
    }
    box.hidden = false;
    at('[data-go-on]').hidden = false;
    box.focus();
  }
  at('[data-go-on]').addEventListener('click', () => {
    const from = asking;
    asking = null;
    at('[data-question]').hidden = true;
    if (from) video.currentTime = from.seconds + 0.5 / framesPerSecond;
    video.focus();
    void video.play();
  });
  root.addEventListener('click', (event) => {
    const to = (event.target as HTMLElement).closest<HTMLElement>('[data-seek]')?.dataset.seek;
    if (to !== undefined) video.currentTime = Number(to);
  });
  document.addEventListener('keydown', (event) => {
    if (event.key !== ' ' || (event.target as HTMLElement).closest('button, input, a, summary, video'))
      return;
    event.preventDefault();
    if (video.paused) void video.play();
    else video.pause();
  });

  // What was played, by the browser's own account; with what could not be sent before.
  const earlier = (): Stretch[] => {
    try {
      return JSON.parse(localStorage.getItem(kept) ?? '[]') as Stretch[];
    } catch {
      return [];
    }
  };
  let owed = earlier();
  const played = (): Stretch[] => [
    ...owed,
    ...Array.from(
      { length: video.played.length },
      (_, each): Stretch => [video.played.start(each), video.played.end(each)],
    ),
  ];
  const keep = (stretches: readonly Stretch[]) => {
    try {
      if (stretches.length > 0) localStorage.setItem(kept, JSON.stringify(stretches.slice(-500)));
      else localStorage.removeItem(kept);
    } catch {
      // A device that keeps nothing sends what it has while the page is open.
    }
  };

  async function post(what: string, body: object): Promise<Response | null> {
    const answer = await withToken(`${api}/${what}`, {
      method: 'POST',
      headers: { 'content-type': 'application/json' },
      body: JSON.stringify(body),
      keepalive: true,
    }).catch(() => null);
    at('[data-away]').hidden = answer !== null && answer.status < 500;
    return answer;
  }

  let sending = false;
  async function send(): Promise<void> {
    if (sending) return;
    sending = true;
    const stretches = played();
    keep(stretches);
    const place = video.readyState >= HTMLMediaElement.HAVE_METADATA ? video.currentTime : undefined;
    // Before anything was played the place is where it was left, maybe by another device since.
    const isHere = video.played.length > 0;
    const answer = await post(
      'watched',
      opened ? { stretches: stretches.slice(-500), ...(isHere && { place }) } : {},
    );
    sending = false;
    if (!answer?.ok) return;
    show((await answer.json()) as Standing);
    if (!opened) {
      opened = true;
      if (owed.length > 0) await send();
      return;
    }
    owed = [];
    if (JSON.stringify(played()) === JSON.stringify(stretches)) keep([]);
  }
  function show({ share, answered: count }: Standing): void {
    at('[data-share]').textContent = `${Math.floor(share * 100)} %`;
    at('[data-answered-count]').textContent = String(count);
  }
  void send();
  setInterval(() => {
    if (!opened || !video.paused || owed.length > 0 || localStorage.getItem(kept) !== null) void send();
  }, sendEveryMs);
  video.addEventListener('pause', () => void send());
  video.addEventListener('ended', () => void send());
  addEventListener('online', () => void send());
  addEventListener('pagehide', () => void send());
  document.addEventListener('visibilitychange', () => {
    // What nobody looks at is not played.
    if (document.hidden) video.pause();
  });
}
