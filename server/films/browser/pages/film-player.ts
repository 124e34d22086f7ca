// A film at a play: it opens at the play's moment, can be stepped, and gives its time to be marked.

const slow = 0.25;

for (const player of document.querySelectorAll<HTMLElement>('[data-player]')) {
  const video = player.querySelector('video')!;
  const moment = Number(player.dataset.seconds);
  const frame = Number(player.dataset.frame);

  const toMoment = () => {
    video.currentTime = moment;
  };
  if (video.readyState >= HTMLMediaElement.HAVE_METADATA) toMoment();
  else video.addEventListener('loadedmetadata', toMoment, { once: true });
  const isFaulty = () => {
    player.querySelector<HTMLElement>('[data-fault]')!.hidden = false;
  };
  video.addEventListener('error', isFaulty);
  if (video.error) isFaulty();

  player.addEventListener('click', (event) => {
    const button = (event.target as HTMLElement).closest('button');
    if (!button) return;
    const { to, by, frames, speed } = button.dataset;
    if (to) toMoment();
    if (by) video.currentTime += Number(by);
    if (frames) {
      video.pause();
      // To the middle of the next frame or the one before, so that rounding cannot stay at the same.
      video.currentTime = (Math.floor(video.currentTime / frame + 1e-6) + Number(frames) + 0.5) * frame;
    }
    if (speed) {
      const isSlow = video.playbackRate !== slow;
      video.playbackRate = isSlow ? slow : 1;
      button.setAttribute('aria-pressed', String(isSlow));
    }
  });

  const take = document.querySelector<HTMLButtonElement>('[data-take]');
  const time = document.querySelector<HTMLInputElement>('#time');
  if (take && time) {
    take.hidden = false;
    take.addEventListener('click', () => {
      video.pause();
      time.value = video.currentTime.toFixed(3);
    });
  }
}
