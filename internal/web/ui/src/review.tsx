import { Component } from 'preact';
import { useEffect, useState } from 'preact/hooks';
import { checkViews, Finding, severities, Severity, ViewKey } from './api';
import { FindingCard, fixes, Sign, words } from './pieces';
import { laterView } from './later';
import { PlanCard, planWhenShown } from './plan';
import { old, rough, section, state, trying } from './store';

const Hero = laterView(() => import('./hero'), (m) => m.Hero);

const name = (f: Finding) => f.check + '|' + f.subject + '|' + (f.figure ?? '');

/** ViewFindings are the findings that arise in what a view shows. */
export function ViewFindings({ of }: { of: ViewKey }) {
  const list = (section('findings') ?? []).filter((f) => f.severity !== 'pass' && f.severity !== 'note' && checkViews[f.check] === of);
  if (list.length === 0) return null;
  return (
    <section class={rough.value || old.value ? 'arising stale' : 'arising'} aria-labelledby="arising">
      <h2 id="arising">Findings here</h2>
      {list.map((f) => <Card key={name(f)} f={f} />)}
    </section>
  );
}

/** Card draws a finding anew only when it says something else. */
class Card extends Component<{ f: Finding }> {
  override shouldComponentUpdate(next: { f: Finding }) { return next.f !== this.props.f; }
  render() { return <FindingCard f={this.props.f} />; }
}

export function ReviewView() {
  const [shown, setShown] = useState<Record<string, boolean>>({ stop: true, warn: true, ask: true, note: true, pass: false });
  useEffect(planWhenShown, []);
  const list = section('findings') ?? [];
  const aside = list.filter((f) => f.acknowledged && (f.severity === 'warn' || f.severity === 'ask'));
  const count = (s: Severity) => list.filter((f) => f.severity === s && !aside.includes(f)).length;
  const before = trying.value ? state.value?.lamp?.findings ?? [] : [];
  const bad = (f: Finding) => f.severity === 'stop' || f.severity === 'warn' || f.severity === 'ask';
  // A check may say several things of one subject, of which some hold.
  const standing = (of: Finding[]) => new Set(of.filter(bad).map(name));
  const now = standing(list), then = standing(before);
  const cleared = before.filter((f) => bad(f) && !now.has(name(f)));
  const fresh = trying.value ? list.filter((f) => bad(f) && !then.has(name(f))) : [];
  return (
    <>
      {old.value && <p class="stale-note">Results outdated: these findings are of the last values that could be computed.</p>}
      <div class="overview">
        <div class="picture-side"><Hero /></div>
        <div class="plan-side">
          <p class="verdict">
            {count('stop') > 0
              ? <><Sign of="stop" /><span><b>Do not order this lamp as it is.</b> {count('stop') === 1 ? '1 check reports' : `${count('stop')} checks report`} damage or a hazard.</span></>
              : <><Sign of="pass" /><span><b>No stops.</b> This does not certify safety: local regulations and a qualified person take precedence.</span></>}
          </p>
          <PlanCard />
        </div>
        <div class="findings-side">
          {trying.value && (cleared.length > 0 || fresh.length > 0) && (
            <section class="delta" aria-label="Effect of the unsaved changes">
              {cleared.length > 0 && <><h2>Resolved with these changes</h2><ul>{cleared.map((f) => <li><Sign of="pass" /> {words[f.severity]}: {f.title}</li>)}</ul></>}
              {fresh.length > 0 && <><h2>New with these changes</h2><ul>{fresh.map((f) => <li><Sign of={f.severity} /> {words[f.severity]}: {f.title}</li>)}</ul></>}
            </section>
          )}
          <div class="filters" role="group" aria-label="Filter by severity">
            {severities.map((s) => (
              <button type="button" aria-pressed={shown[s]} onClick={() => setShown({ ...shown, [s]: !shown[s] })}>
                <Sign of={s} /> {words[s]} <b>{count(s)}</b>
              </button>
            ))}
          </div>
          {severities.filter((s) => shown[s] && count(s) > 0).map((s) => {
            const told = list.filter((f) => f.severity === s && !aside.includes(f) && f.check !== 'caution'), cautions = list.filter((f) => f.severity === s && f.check === 'caution');
            return (
            <section key={s} aria-labelledby={'sev-' + s}>
              <h2 id={'sev-' + s}>{{ stop: 'Stop: damage or hazard', warn: 'Warning: marginal, or requirement not met', ask: 'Missing data', note: 'Note', pass: 'Pass: checked, within the limit' }[s]}</h2>
              {told.map((f) => <Card key={name(f)} f={f} />)}
              {cautions.length > 0 && (
                <details class="cautions">
                  <summary>General safety notes for every lamp ({cautions.length})</summary>
                  {cautions.map((f) => <p><b>{f.title}.</b> {f.why} {fixes(f).join(' ')}</p>)}
                </details>
              )}
            </section>
          ); })}
          {aside.length > 0 && (
            <section aria-labelledby="acknowledged">
              <h2 id="acknowledged">Acknowledged: left as they are, with a reason ({aside.length})</h2>
              {aside.map((f) => <Card key={name(f)} f={f} />)}
            </section>
          )}
        </div>
      </div>
    </>
  );
}
