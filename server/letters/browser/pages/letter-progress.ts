// Follows a batch of letters while it is being made, then shows the finished page.
const card = document.querySelector<HTMLElement>('[data-batch]');
const bar = document.querySelector<HTMLProgressElement>('#made');
const words = document.getElementById('progress-words');

type Progress = {
  total: number;
  waiting: number;
  made: number;
  unchanged: number;
  failed: number;
  finished: boolean;
};

async function follow(batch: string): Promise<void> {
  for (;;) {
    await new Promise((resolve) => setTimeout(resolve, 700));
    const answer = await fetch(`/api/letter-batches/${batch}`).catch(() => null);
    if (!answer?.ok || !bar || !words) continue;
    const { total, waiting, made, unchanged, failed, finished }: Progress = await answer.json();
    bar.value = made + unchanged;
    words.textContent = `${made} made, ${unchanged} unchanged since their release, ${failed} failed, ${waiting} waiting, of ${total}.`;
    if (finished) {
      location.reload();
      return;
    }
  }
}

const batch = card?.dataset.batch;
if (batch && card.dataset.finished === undefined) void follow(batch);
