// Navigation in the order of the energy flow: each view with its key figure and its findings.
import { useComputed } from '@preact/signals';
import { checkViews, Severity, ViewKey, views } from './api';
import { unsavedText } from './file';
import { Sign, words } from './pieces';
import { figure, section } from './store';

/** countIn is the number of stops or warnings that arise in a view. */
const countIn = (view: ViewKey, of: Severity) => section('bad').filter((f) => f.severity === of && checkViews[f.check] === view).length;

function Counted({ view }: { view: ViewKey }) {
  const n = useComputed(() => [countIn(view, 'stop'), countIn(view, 'warn')]).value;
  return (
    <span class="findings">
      {(['stop', 'warn'] as const).map((s, i) => n[i]! > 0 && <span key={s}><Sign of={s} />{n[i]}<span class="hidden"> {words[s].toLowerCase()}{n[i] === 1 ? '' : 's'}</span></span>)}
    </span>
  );
}

function KeyFigure({ of }: { of: string }) {
  const text = useComputed(() => figure(of)?.text ?? '').value;
  return <small>{text.split(',')[0]}</small>;
}

function Stop({ v, here, ready }: { v: (typeof views)[number]; here: boolean; ready: boolean }) {
  return (
    <li class={v.path ? 'stop' : ''}>
      <a href={'#/' + v.key} aria-current={here ? 'page' : undefined}>
        <b>{v.title}{v.key === 'file' && unsavedText() ? ' •' : ''}</b>
        {ready && v.key !== 'review' && <Counted view={v.key} />}
        {ready && v.figure !== '' && <KeyFigure of={v.figure} />}
      </a>
    </li>
  );
}

export const Nav = ({ of, ready }: { of: string; ready: boolean }) => (
  <nav aria-label="Views">
    <ul>{views.map((v) => <Stop key={v.key} v={v} here={v.key === of} ready={ready} />)}</ul>
  </nav>
);
