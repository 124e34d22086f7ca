// Pages of reels: how far each is without loading the page, and jumping to chapters.

const lookEveryMs = 1500;

interface Told {
  state: string;
  progress: number;
  underway: boolean;
  trouble: string | null;
}

for (const shown of document.querySelectorAll<HTMLElement>('[data-reel][data-state="waiting"]'))
  follow(shown);

function follow(shown: HTMLElement): void {
  const trouble = shown.querySelector<HTMLElement>('.notice.warn[role=status]');
  const look = async () => {
    const told = await fetch(shown.dataset.reel!, { headers: { accept: 'application/json' } })
      .then((answer) => (answer.ok ? (answer.json() as Promise<Told>) : undefined))
      // The line may be cut for a while.
      .catch(() => undefined);
    if (told && (told.state !== 'waiting' || (told.trouble !== null && !trouble))) return location.reload();
    if (told) {
      shown.querySelector('progress')!.value = told.progress * 100;
      shown.querySelector('[data-says]')!.textContent = told.underway
        ? `being made, ${Math.round(told.progress * 100)} %`
        : 'waiting to be made';
    }
    setTimeout(look, lookEveryMs);
  };
  setTimeout(look, lookEveryMs);
}

for (const player of document.querySelectorAll<HTMLElement>('[data-reel-player]')) {
  const video = player.querySelector('video')!;
  const tellFault = () => {
    player.querySelector<HTMLElement>('[data-fault]')!.hidden = false;
  };
  video.addEventListener('error', tellFault);
  if (video.error) tellFault();
  player.addEventListener('click', (event) => {
    const at = (event.target as HTMLElement).closest('button')?.dataset.at;
    if (at === undefined) return;
    video.currentTime = Number(at);
    void video.play();
  });
}
