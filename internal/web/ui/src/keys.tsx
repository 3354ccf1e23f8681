// Every key of the design file: a generated editor, section by section.
import { signal, useComputed } from '@preact/signals';
import { useEffect, useState } from 'preact/hooks';
import { KeyNode } from './api';
import { add, clear, inFile, keysFailed, keyTree, put, reset, watchKeys } from './keystate';
import { hasWords, labelOf, matches, shownText } from './keytree';
import { gone } from './marked';
import { openPicker } from './picking';
import { fileLink, problemAt } from './pieces';
import { state, trial } from './store';
import { adopt } from './styles';
import css from './keys.css' with { type: 'text' };

adopt(css as string);

const idOf = (path: string) => 'key-' + path.replace(/\W+/g, '-');

/** hint is what may stand in a field: units, words or an example, and limits. */
function hint(n: KeyNode) {
  const units = n.units?.length ? `in ${n.units.join(', ')}` : '';
  return [n.doc, units, n.limits].filter(Boolean).join('; ');
}

/** KeyField is the field of one key. What is typed is tried. */
export function KeyField({ n, plain }: { n: KeyNode; plain?: boolean }) {
  const [typed, setTyped] = useState<string | null>(null);
  const [help, setHelp] = useState(false);
  const tried = useComputed(() => trial.value[n.path]).value;
  const wrong = useComputed(() => problemAt(n.path)).value;
  const file = inFile(n.path);
  const now = tried === undefined ? n.text ?? '' : shownText(tried);
  const away = tried === gone;
  const changed = tried !== undefined || (n.set === true && file === undefined);
  const id = idOf(n.path);
  const commit = (text: string) => { if (text !== now) put(n, text); setTyped(null); };
  const about = { id, 'aria-invalid': wrong !== '', 'aria-describedby': [wrong && id + '-e', help && id + '-h'].filter(Boolean).join(' ') || undefined };
  const words = n.form === 'flag' ? ['true', 'false'] : n.one;
  const empty = n.need ? 'required' : `not set${n.eg ? `; such as ${n.eg}` : ''}`;
  const label = labelOf(n.key);
  return (
    <div class={`keyfield${changed ? ' changed' : ''}${now === '' ? ' unset' : ''}`}>
      <label for={id}>{label}{n.need && now === '' ? <span class="soft"> required</span> : null}</label>
      <span class="entry">
        {n.part
          ? <button type="button" id={id} class="part" aria-describedby={about['aria-describedby']} onClick={() => (n.set ? openPicker(n.path) : put(n, n.eg ?? ''))}>{now || 'choose'}</button>
          : words
            ? <select {...about} value={now} onChange={(e) => put(n, e.currentTarget.value)}>
                <option value="">{n.need ? 'choose' : 'not set'}</option>
                {now !== '' && !words.includes(now) && <option value={now}>{now}</option>}
                {words.map((w) => <option value={w}>{n.form === 'flag' ? (w === 'true' ? 'yes' : 'no') : w}</option>)}
              </select>
            : now.includes('\n')
              ? <textarea {...about} rows={4} value={typed ?? now} onInput={(e) => setTyped(e.currentTarget.value)} onBlur={(e) => commit(e.currentTarget.value)} />
              : <input {...about} type="text" autocomplete="off" spellcheck={false} value={typed ?? now} placeholder={away ? `file: ${file}` : empty}
                  onInput={(e) => setTyped(e.currentTarget.value)} onBlur={(e) => commit(e.currentTarget.value)}
                  onKeyDown={(e) => { if (e.key === 'Enter') commit(e.currentTarget.value); if (e.key === 'Escape' && typed !== null) { e.stopPropagation(); e.currentTarget.value = now; setTyped(null); } }} />}
        {!plain && n.doc && <button type="button" class="bare q" aria-expanded={help} aria-label={`${label}: what it means`} onClick={() => setHelp(!help)}>?</button>}
        {!n.need && now !== '' && <button type="button" class="bare q" aria-label={`${label}: clear`} title="Clear" onClick={() => clear(n.path)}>×</button>}
      </span>
      {(help || plain && n.doc) && <p class="hint" id={id + '-h'}>{hint(n)}.{n.eg && !plain ? <> Example: <code>{n.eg}</code></> : null}</p>}
      {tried !== undefined && <p class="was">{file === undefined ? 'not in the file' : `file: ${file}`} <button type="button" class="link" aria-label={`${label}: reset to ${file ?? 'not set'}`} onClick={() => reset(n.path)}>Reset</button></p>}
      {wrong && <p class="wrong" id={id + '-e'} role="alert">{wrong}</p>}
    </div>
  );
}

/** KeyGroup is a mapping, or an item of a list, with its keys. */
function KeyGroup({ n, words, title, level }: { n: KeyNode; words: string[]; title: string; level: number }) {
  const added = n.set && inFile(n.path) === undefined;
  const tried = useComputed(() => n.path in trial.value).value;
  const removable = n.form === 'mapping' && !n.need;
  return (
    <details class={`keygroup${added || tried ? ' changed' : ''}`} open={words.length > 0 || undefined}>
      <summary><span class="name">{title}</span> {n.set ? <span class="soft brief">{brief(n)}</span> : <span class="soft">not set</span>}</summary>
      <div class="body">
        <Keys list={n.keys ?? []} words={words} level={level + 1} />
        {removable && <p class="actions">{n.set ? <button type="button" onClick={() => clear(n.path)}>Remove<span class="hidden">: {title}</span></button> : n.new && <button type="button" onClick={() => add(n)}>Add with examples<span class="hidden">: {title}</span></button>}</p>}
      </div>
    </details>
  );
}

/** brief is the first values of a mapping. */
function brief(n: KeyNode): string {
  const texts = (n.keys ?? []).filter((k) => k.set && !k.keys && !k.items).map((k) => shownText(trial.value[k.path] ?? k.text ?? ''));
  return texts.filter((t) => t.length < 40).slice(0, 3).join(', ');
}

/** titleOf is an item of a list by its name or part. */
function titleOf(n: KeyNode, list: KeyNode, i: number): string {
  const name = (n.keys ?? []).find((k) => ['name', 'what', 'anchor'].includes(k.key) && k.set) ?? (n.keys ?? []).find((k) => k.key === 'part' && k.set);
  return `${labelOf(list.key)} ${i + 1}${name ? `: ${shownText(trial.value[name.path] ?? name.text ?? '')}` : ''}`;
}

/** Keys is the keys of a mapping, or of the whole file. */
export function Keys({ list, words, level = 0 }: { list: KeyNode[]; words: string[]; level?: number }) {
  const shown = list.filter((n) => matches(n, words));
  // Values first, so that they stand together above what is within.
  const single = shown.filter((n) => !n.keys && n.form !== 'mappings'), nested = shown.filter((n) => n.keys || n.form === 'mappings');
  const deeper = (n: KeyNode) => (hasWords(`${n.path} ${n.doc ?? ''}`, words) ? [] : words);
  return (
    <>
      {single.length > 0 && <div class="keyfields">{single.map((n) => <KeyField key={n.path} n={n} />)}</div>}
      {nested.map((n) => (n.form === 'mappings'
        ? <div class="keylist" key={n.path}>
            {(n.items ?? []).map((item, i) => <KeyGroup key={item.path} n={item} words={deeper(n)} title={titleOf(item, n, i)} level={level} />)}
            <p class="actions"><button type="button" onClick={() => { add(n); }}>Add to {labelOf(n.key).toLowerCase()}</button> <span class="soft">{n.doc}</span></p>
          </div>
        : <KeyGroup key={n.path} n={n} words={deeper(n)} title={labelOf(n.key)} level={level} />))}
    </>
  );
}

const search = signal('');

/** natural is the view that draws a section of the file. */
const natural: Record<string, [string, string]> = {
  installation: ['light', 'Light'], board: ['board', 'Board'], channels: ['board', 'Board'], supplies: ['power', 'Power'], mains: ['power', 'Power'], fan: ['power', 'Power'], sensor: ['board', 'Board'], day: ['day', 'Day'],
};

export function ValuesView() {
  useEffect(watchKeys, []);
  const tree = keyTree.value, words = search.value.toLowerCase().split(/[^\p{L}\p{N}]+/u).filter(Boolean);
  const top = (tree ?? []).filter((n) => matches(n, words));
  const plain = top.filter((n) => !n.keys && n.form !== 'mappings');
  return (
    <section class="allvalues" aria-labelledby="allvalues">
      <h2 id="allvalues">All values</h2>
      <p class="hint">Every key of {state.value?.file}, set or not. What is typed is a preview; the file changes when you save. Points and lists are typed in brackets. <a href={fileLink(state.value?.file ?? '', 0)}>Edit the text</a></p>
      <p class="filter"><label for="key-search">Find a key</label> <input id="key-search" type="search" autocomplete="off" value={search.value} onInput={(e) => { search.value = e.currentTarget.value; }} /></p>
      {!tree && (keysFailed.value ? <p class="wrong" role="alert">{keysFailed.value}</p> : <p role="status">Reading the file…</p>)}
      {tree && top.length === 0 && <p>No key has these words.</p>}
      {plain.length > 0 && <div class="keysection"><h3>Design</h3><Keys list={plain} words={words} /></div>}
      {top.filter((n) => n.keys || n.form === 'mappings').map((n) => (
        <div class="keysection" key={n.path}>
          <h3>{labelOf(n.key)} {natural[n.key] && <a class="soft" href={'#/' + natural[n.key]![0]}>drawn in {natural[n.key]![1]}</a>}</h3>
          {n.form === 'mapping' && (n.set || n.need)
            ? <><Keys list={n.keys ?? []} words={words} />{!n.need && <p class="actions"><button type="button" onClick={() => clear(n.path)}>Remove<span class="hidden">: {labelOf(n.key)}</span></button></p>}</>
            : <Keys list={[n]} words={words} />}
        </div>
      ))}
    </section>
  );
}
