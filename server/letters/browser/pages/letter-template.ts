// Shows a letter's template on real figures while it is typed, and what is wrong with it, line by line.
const form = document.querySelector<HTMLFormElement>('#template');
const text = document.querySelector<HTMLTextAreaElement>('#body');
const person = document.querySelector<HTMLSelectElement>('#person');
const preview = document.getElementById('preview');
const problems = document.getElementById('problems');
const list = document.getElementById('problem-list');
const asPdf = document.querySelector<HTMLButtonElement>('#as-pdf');

if (form && text && person && preview && problems && list) {
  const csrf = form.querySelector<HTMLInputElement>('input[name=_csrf]')?.value ?? '';
  const send = (path: string) =>
    fetch(`/api/letter-templates/${form.dataset.kind}/${path}`, {
      method: 'POST',
      headers: { 'content-type': 'application/json', 'x-csrf-token': csrf },
      body: JSON.stringify({
        body: text.value,
        seasonId: form.dataset.season,
        personId: person.value || null,
      }),
    });

  let newest = 0;
  const show = async () => {
    const number = ++newest;
    const answer = await send('preview').catch(() => null);
    // An older answer must not replace a newer one.
    if (number !== newest || !answer) return;
    const body = await answer.json();
    if (!answer.ok) {
      preview.textContent = body.detail ?? 'There is no preview now.';
      return;
    }
    problems.hidden = body.problems.length === 0;
    text.toggleAttribute('aria-invalid', body.problems.length > 0);
    list.replaceChildren(
      ...body.problems.map(({ line, message }: { line: number; message: string }) => {
        const item = document.createElement('li');
        const link = document.createElement('a');
        link.href = '#body';
        link.dataset.line = String(line);
        link.textContent = `Line ${line}`;
        item.append(link, `: ${message}`);
        return item;
      }),
    );
    // Made by the server from the document tree, every text in it escaped.
    if (body.html !== null) preview.innerHTML = body.html;
  };

  let timer = 0;
  const soon = () => {
    clearTimeout(timer);
    timer = window.setTimeout(show, 300);
  };
  text.addEventListener('input', soon);
  person.addEventListener('change', show);
  preview.textContent = 'Reading the season for the preview …';
  void show();

  problems.addEventListener('click', (event) => {
    const line = Number((event.target as HTMLElement).dataset.line);
    if (!line) return;
    event.preventDefault();
    const start =
      text.value
        .split('\n')
        .slice(0, line - 1)
        .join('\n').length + (line > 1 ? 1 : 0);
    const end = text.value.indexOf('\n', start);
    text.focus();
    text.setSelectionRange(start, end < 0 ? text.value.length : end);
  });

  if (asPdf) {
    asPdf.hidden = false;
    asPdf.addEventListener('click', async () => {
      const answer = await send('preview.pdf');
      if (!answer.ok) return show();
      const address = URL.createObjectURL(await answer.blob());
      window.open(address, '_blank', 'noopener');
      setTimeout(() => URL.revokeObjectURL(address), 60_000);
    });
  }
}
