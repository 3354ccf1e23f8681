// The designs that the page can go to: variants in the folder, and other projects.
import { computed, signal } from '@preact/signals';
import { useEffect, useRef, useState } from 'preact/hooks';
import { Failed, get, Made, post, Projects } from './api';
import { changes, sentence, state, trying } from './store';

const known = signal<Projects | null>(null);

/** leaving says that the page goes to another design, and keeps its unsaved changes for when one comes back. */
export const leaving = signal(false);

/** listProjects asks which designs there are. */
export const listProjects = () => get<Projects>('/api/projects').then((got) => { known.value = got; }, () => undefined);

const address = (id: string) => `/?project=${id}${location.hash}`;
const go = (id: string, hash = location.hash) => { leaving.value = true; location.assign(`/?project=${id}${hash}`); };

/** variants are the designs of the folder, as long as there are several. */
const variants = computed(() => { const list = (known.value?.projects ?? []).filter((p) => p.here); return list.length > 1 ? list : []; });

/** hasVariants says that the bar shows tabs of variants. */
export const hasVariants = computed(() => variants.value.length > 0);

/** most is the number of variants in the bar; the others are in the dialog. */
const most = 4;

/** Variants are the tabs of the designs in the folder. */
export function Variants() {
  const list = variants.value, at = list.findIndex((p) => p.present);
  if (list.length === 0) return null;
  const shown = at < most ? list.slice(0, most) : [...list.slice(0, most - 1), list[at]!];
  return (
    <ul class="variants" aria-label="Variants">
      {shown.map((p) => <li key={p.id}><a href={address(p.id)} aria-current={p.present ? 'page' : undefined} title={p.file} onClick={() => { leaving.value = true; }}>{p.name}</a></li>)}
    </ul>
  );
}

const open = signal(false);

/** ProjectsButton opens the list of projects. */
export const ProjectsButton = () => <button type="button" class="bare" aria-haspopup="dialog" onClick={() => { open.value = true; void listProjects(); }}>Projects</button>;

/** Named is a field for a name with what is made of it. */
function Named({ label, button, hint, make }: { label: string; button: string; hint: string; make: (name: string) => Promise<void> }) {
  const [name, setName] = useState(''), [wrong, setWrong] = useState(''), [busy, setBusy] = useState(false);
  const id = 'named-' + button.replace(/\W+/g, '-').toLowerCase();
  return (
    <form class="named-form" onSubmit={(e) => {
      e.preventDefault();
      setBusy(true);
      make(name).then(() => setWrong(''), (x) => setWrong(x instanceof Failed ? sentence(x.message) : 'The program does not answer; nothing was written.')).finally(() => setBusy(false));
    }}>
      <label for={id}>{label}</label>
      <input id={id} type="text" autocomplete="off" maxLength={80} value={name} aria-invalid={wrong !== ''} aria-describedby={id + '-h'} onInput={(e) => setName(e.currentTarget.value)} />
      <button type="submit" disabled={busy || name.trim() === ''}>{button}</button>
      <p class="hint" id={id + '-h'}>{hint}</p>
      {wrong && <p class="wrong" role="alert">{wrong}</p>}
    </form>
  );
}

/** NewProject makes an empty folder, and goes to it. */
export const NewProject = () => <Named label="New project, with the name" button="New project" hint={`An empty folder in ${known.value?.beside ?? 'the folder above'}.`} make={async (name) => { const made = await post<Made>('/api/project', { name }); go(made.id, ''); }} />;

/** ProjectsDialog lists the designs, and makes new ones. */
export function ProjectsDialog() {
  const d = useRef<HTMLDialogElement>(null), k = known.value;
  useEffect(() => { if (open.value) d.current?.showModal(); else if (d.current?.open) d.current.close(); }, [open.value]);
  const rest = (k?.projects ?? []).filter((p) => !p.here), here = (k?.projects ?? []).filter((p) => p.here);
  const list = (of: typeof rest) => <ul class="plain">{of.map((p) => <li key={p.id}><a href={address(p.id)} aria-current={p.present ? 'page' : undefined} onClick={() => { leaving.value = true; }}>{p.name}</a> <span class="soft">{p.here ? p.file : p.folder}{p.present ? ', shown' : ''}</span></li>)}</ul>;
  return (
    <dialog ref={d} class="asking" aria-labelledby="projects-title" onClose={() => { open.value = false; }} onClick={(e) => { if (e.target === d.current) open.value = false; }}>
      {open.value && (
        <div class="why">
          <header><h2 id="projects-title">Projects</h2><button type="button" onClick={() => { open.value = false; }}>Close</button></header>
          {here.length > 0 && <><h3>In this folder</h3>{list(here)}</>}
          {rest.length > 0 && <><h3>Opened before</h3>{list(rest)}</>}
          {!state.value?.empty && <Named label="Duplicate as variant, with the name" button="Duplicate" hint={`A design file beside ${state.value?.file}${trying.value ? ', with the unsaved changes' : ''}; own parts are shared.`}
            make={async (name) => { const made = await post<Made>('/api/variant', { base: state.value?.hash ?? '', changes: changes(), name }); go(made.id); }} />}
          <NewProject />
          <p><a href="#/compare" onClick={() => { open.value = false; }}>Compare variants and snapshots</a></p>
        </div>
      )}
    </dialog>
  );
}
