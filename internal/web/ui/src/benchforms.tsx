// The forms of the bench: a first readings file, and a further reading.
import { useState } from 'preact/hooks';
import { BenchCampaign, Change } from './api';
import { fieldsOf, Fields, itemOf, withUnit } from './benchedit';
import { addReading, at, bench, start } from './benchstate';
import { asBlock } from './marked';
import { saving, state } from './store';

const meters: [string, string][] = [
  ['lux meter', 'Lux meter'], ['quantum sensor', 'Quantum sensor (PPFD)'], ['multimeter, volts', 'Multimeter, voltage'], ['multimeter, amps', 'Multimeter, current'],
  ['wattmeter', 'Wattmeter (mains)'], ['thermocouple', 'Thermocouple'], ['infrared thermometer', 'Infrared thermometer'],
];

const today = () => { const d = new Date(); return `${d.getFullYear()}-${String(d.getMonth() + 1).padStart(2, '0')}-${String(d.getDate()).padStart(2, '0')}`; };

/** StartForm begins a readings file. */
export function StartForm() {
  const [name, setName] = useState('first light'), [date, setDate] = useState(today()), [room, setRoom] = useState('22');
  const [have, setHave] = useState<string[]>(['lux meter', 'multimeter, volts', 'thermocouple']);
  const toggle = (key: string) => setHave(have.includes(key) ? have.filter((k) => k !== key) : [...have, key]);
  const begin = (plan: boolean) => void start({ name, date, room: withUnit(room, '°C'), meters: have, plan });
  return (
    <form class="benchform" onSubmit={(e) => { e.preventDefault(); begin((e.submitter as HTMLButtonElement | null)?.value === 'plan'); }}>
      <div class="asks">
        <div><label for="bf-name">Name of the campaign</label><input id="bf-name" type="text" required value={name} onInput={(e) => setName(e.currentTarget.value)} /></div>
        <div><label for="bf-date">Date</label><input id="bf-date" type="text" required value={date} onInput={(e) => setDate(e.currentTarget.value)} /></div>
        <div><label for="bf-room">Room temperature [°C]</label><input id="bf-room" type="text" inputMode="decimal" required value={room} onInput={(e) => setRoom(e.currentTarget.value)} /></div>
      </div>
      <fieldset><legend>Instruments at hand</legend>{meters.map(([key, label]) => <label><input type="checkbox" checked={have.includes(key)} onChange={() => toggle(key)} /> {label}</label>)}</fieldset>
      <p class="actions"><button type="submit" class="main" disabled={saving.value}>Start a readings file</button> <button type="submit" value="plan" disabled={saving.value}>Start from the plan</button></p>
      <p class="soft">Both write readings.yaml beside {state.value!.file}: without readings, or with those that tell most of this lamp by these instruments.</p>
    </form>
  );
}

/** Choice is a select with its label. */
const Choice = ({ id, label, value, list, put }: { id: string; label: string; value: string; list: string[]; put: (v: string) => void }) => (
  <div><label for={id}>{label}</label><select id={id} value={value} onChange={(e) => put(e.currentTarget.value)}>{!list.includes(value) && <option value={value}>{value || 'choose'}</option>}{list.map((v) => <option value={v}>{v}</option>)}</select></div>
);

const Text = ({ id, label, value, put }: { id: string; label: string; value: string; put: (v: string) => void }) => (
  <div><label for={id}>{label}</label><input id={id} type="text" inputMode="decimal" value={value} onInput={(e) => put(e.currentTarget.value)} /></div>
);

/** NewReading adds a reading to a campaign. */
export function NewReading({ g }: { g: BenchCampaign }) {
  const b = bench.value!, form = b.form, instruments = b.instruments;
  const [f, setF] = useState<Fields>({ what: 'string voltage', instrument: '', state: g.states[0]?.name ?? 'full', channel: form.channels[0] ?? '', place: '', distance: '500', x: '0', y: '0', emitter: form.emitters[0] ?? '', spot: form.spots[0] ?? '' });
  const q = form.quantities.find((x) => x.name === f.what)!, fits = instruments.filter((m) => q.meters.includes(m.kind)).map((m) => m.name);
  const place = q.places.includes(f.place) ? f.place : q.places.length > 0 ? q.places[0]! : '', instrument = fits.includes(f.instrument) ? f.instrument : fits[0] ?? '';
  const now = { ...f, place, instrument }, has = fieldsOf(q.channel, place), put = (key: keyof Fields) => (v: string) => setF({ ...f, [key]: v });
  const add = async () => {
    const kind = q.meters[0]!, edits: Change[] = [], named = instrument || kind;
    // A quantity for which no instrument is there gets a usual one.
    if (!instrument) edits.push({ path: `instruments[${instruments.length}]`, text: asBlock + `{name: ${kind}, kind: ${kind}}` });
    edits.push({ path: g.next, text: asBlock + itemOf({ ...now, instrument: named }, q.channel) });
    const n = b.readings.filter((r) => b.campaigns[r.campaign]!.path <= g.path).length;
    if (await addReading(edits)) at.value = n;
  };
  return (
    <form class="benchform" onSubmit={(e) => { e.preventDefault(); void add(); }}>
      <div class="asks">
        <Choice id="bn-what" label="Quantity" value={f.what} list={form.quantities.map((x) => x.name)} put={put('what')} />
        {fits.length > 0 ? <Choice id="bn-meter" label="Instrument" value={instrument} list={fits} put={put('instrument')} /> : <div><span class="label">Instrument</span><p class="soft">A {q.meters[0]} of usual accuracy is added.</p></div>}
        <Choice id="bn-state" label="State of the lamp" value={f.state} list={g.states.map((s) => s.name)} put={put('state')} />
        {q.places.length > 0 && <Choice id="bn-place" label="Place" value={place} list={q.places} put={put('place')} />}
        {has.channel && <Choice id="bn-channel" label="Channel" value={f.channel} list={form.channels} put={put('channel')} />}
        {has.distance && <Text id="bn-distance" label="Distance from the lenses [mm]" value={f.distance} put={put('distance')} />}
        {has.at && <><Text id="bn-x" label="x [mm]" value={f.x} put={put('x')} /><Text id="bn-y" label="y [mm]" value={f.y} put={put('y')} /></>}
        {has.emitter && <Choice id="bn-emitter" label="Emitter" value={f.emitter} list={form.emitters} put={put('emitter')} />}
        {has.spot && form.spots.length > 0 && <Choice id="bn-spot" label="Spot" value={f.spot} list={form.spots} put={put('spot')} />}
      </div>
      <p><button type="submit" class="main" disabled={saving.value}>Add reading</button></p>
    </form>
  );
}
