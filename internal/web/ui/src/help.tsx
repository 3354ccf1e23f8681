// The handbook, the references and the keys, searched and read within the page.
import { useEffect, useRef, useState } from 'preact/hooks';
import { Entry, get, Hit, HelpContents, HelpHits, HelpSection } from './api';
import { asked } from './helpstate';

/** Result is one section that was found, with the words marked. */
const Result = ({ h, now, open }: { h: Hit; now: boolean; open: (id: string) => void }) => (
  <li>
    <button type="button" aria-current={now ? 'true' : undefined} onClick={() => open(h.id)}>
      <b>{h.title}</b>{h.chapter !== h.title && <span class="soft"> {h.chapter}</span>}
      <span class="excerpt">{h.text.map((p) => (p.found ? <mark>{p.text}</mark> : p.text))}</span>
    </button>
  </li>
);

/** Contents lists the sections under their pages. */
function Contents({ list, now, open }: { list: Entry[]; now: string; open: (id: string) => void }) {
  const chapters: Entry[][] = [];
  for (const e of list) {
    if (chapters.at(-1)?.[0]!.chapter === e.chapter) chapters.at(-1)!.push(e);
    else chapters.push([e]);
  }
  return (
    <>
      {chapters.map((c) => (
        <details key={c[0]!.id} open={c.some((e) => e.id === now)}>
          <summary>{c[0]!.chapter}</summary>
          <ul>{c.map((e) => <li><button type="button" aria-current={e.id === now ? 'true' : undefined} onClick={() => open(e.id)}>{e.title}</button></li>)}</ul>
        </details>
      ))}
    </>
  );
}

/** wait is how long typing rests before it is searched for [ms]. */
const wait = 120;

export function Help() {
  const d = useRef<HTMLDialogElement>(null), field = useRef<HTMLInputElement>(null), read = useRef<HTMLElement>(null);
  const [contents, setContents] = useState<Entry[]>([]), [question, setQuestion] = useState('');
  const [hits, setHits] = useState<Hit[] | null>(null), [section, setSection] = useState<HelpSection | null>(null);
  const [wrong, setWrong] = useState('');
  const last = useRef(0);
  const fetched = async (path: string, done: (got: unknown) => void) => {
    const mine = ++last.current;
    try {
      const got = await get<unknown>(path);
      if (mine === last.current) { setWrong(''); done(got); }
    } catch (e) {
      if (mine === last.current) setWrong(e instanceof TypeError ? 'The program does not answer.' : e instanceof Error ? e.message : String(e));
    }
  };
  const open = (id: string, check = '') => void fetched(`/api/help?q=${encodeURIComponent(question)}&${check ? 'check' : 'id'}=${encodeURIComponent(check || id)}`, (got) => {
    setSection(got as HelpSection);
    read.current?.scrollTo(0, 0);
    read.current?.focus({ preventScroll: true });
  });
  useEffect(() => {
    d.current?.showModal();
    field.current?.focus();
    const check = asked.peek()?.check;
    void get<HelpContents>('/api/help').then((c) => setContents(c.sections), () => setWrong('The program does not answer.'));
    if (check) open('', check);
  }, []);
  const later = useRef(0);
  /** search asks for the sections of what was typed, and opens the first of them on request. */
  const search = (first: boolean) => {
    window.clearTimeout(later.current);
    void fetched(`/api/help?q=${encodeURIComponent(question)}`, (got) => {
      const list = (got as HelpHits).hits;
      setHits(list);
      if (first && list[0]) open(list[0].id);
    });
  };
  useEffect(() => {
    if (question.trim().length < 2) { setHits(null); return; }
    later.current = window.setTimeout(() => search(false), wait);
    return () => window.clearTimeout(later.current);
  }, [question]);
  const close = () => { asked.value = null; };
  const follow = (e: MouseEvent) => {
    const id = (e.target as Element).closest('[data-help]')?.getAttribute('data-help');
    if (!id) return;
    e.preventDefault();
    open(id);
  };
  return (
    <dialog ref={d} class="help" aria-label="Help" onClose={close} onClick={(e) => { if (e.target === d.current) close(); }}>
      <div class={section ? 'help-body reading' : 'help-body'}>
        <div class="help-find">
          <div class="help-head">
            <input ref={field} type="search" aria-label="Search handbook, file format and keys" placeholder="Search handbook, file format, keys" autocomplete="off" maxLength={100} value={question}
              onInput={(e) => setQuestion(e.currentTarget.value)} onKeyDown={(e) => { if (e.key === 'Enter' && question.trim().length >= 2) { e.preventDefault(); search(true); } }} />
            <button type="button" onClick={close}>Close</button>
          </div>
          <p class="hidden" role="status">{hits ? (hits.length === 1 ? '1 section found' : `${hits.length} sections found`) : ''}</p>
          {wrong && <p class="wrong" role="alert">{wrong}</p>}
          <div class="help-list">
            {hits ? (hits.length > 0 ? <ul class="hits">{hits.map((h) => <Result h={h} now={h.id === section?.id} open={open} />)}</ul> : <p class="soft">No section has all of these words.</p>)
              : <Contents list={contents} now={section?.id ?? ''} open={open} />}
          </div>
        </div>
        <article ref={read} tabIndex={-1} aria-label={section ? section.title : 'Section'}>
          {section
            ? <>
                <p class="help-path"><button type="button" class="link to-list" onClick={() => { setSection(null); field.current?.focus(); }}>Back to the list</button> <button type="button" class="link to-list" onClick={close}>Close</button> <span class="soft">{section.chapter}</span></p>
                <h2>{section.title}</h2>
                <div class="prose" onClick={follow} dangerouslySetInnerHTML={{ __html: section.html }} />
                <p class="actions">
                  {section.previous && <button type="button" onClick={() => open(section.previous!)}>Previous section</button>}
                  {section.next && <button type="button" onClick={() => open(section.next!)}>Next section</button>}
                </p>
              </>
            : <p class="soft">Choose a section, or search: every word must occur. Keys: type <kbd>keys</kbd>.</p>}
        </article>
      </div>
    </dialog>
  );
}
