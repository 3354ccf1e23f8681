import assert from 'node:assert/strict';
import test from 'node:test';
import { FrameList } from '../src/generated';
import { asBlock, asYAML, gone } from '../src/marked';
import { addedAfter, atLevel, clockText, firstDay, inserted, joined, joinedLists, levelAt, moveTo, programmeKey, readClock, readPercent, relit, retimed, sameList, split, splitLists, withFrames } from '../src/dayedit';

const list = (l: Partial<FrameList>): FrameList => ({ channel: 'cool', path: 'day.keyframes', shared: true, stated: false, removes: [], frames: firstDay, ...l });
const times = (l: { time: string }[]) => l.map((f) => f.time).join(' ');

test('times and levels as they are typed', () => {
  for (const [text, want] of [['9:30', 34200], ['09:30', 34200], ['9.30', 34200], ['930', 34200], ['9', 32400], ['0:00', 0], ['23:59:30', 86370], ['24:00', null], ['9:60', null], ['noon', null], ['', null]] as const) assert.equal(readClock(text), want, text);
  for (const [text, want] of [['55 %', 0.55], ['55', 0.55], ['0,5', 0.005], ['100%', 1], ['101', null], ['-1', null], ['x', null]] as const) assert.equal(readPercent(text), want, text);
  assert.equal(clockText(34200), '09:30');
  assert.equal(clockText(86400), '24:00');
  assert.equal(clockText(34215), '09:30:15');
});

test('a keyframe stays between its neighbours', () => {
  assert.equal(times(retimed(firstDay, 1, 10 * 3600, 300)), '08:00 10:00 17:00 18:00');
  assert.equal(times(retimed(firstDay, 1, 0, 300)), '08:00 08:05 17:00 18:00');
  assert.equal(times(retimed(firstDay, 1, 86400, 60)), '08:00 16:59 17:00 18:00');
  assert.equal(times(retimed(firstDay, 3, 86400, 300)), '08:00 09:00 17:00 23:55');
  assert.equal(times(retimed(firstDay, 0, -500, 300)), '00:00 09:00 17:00 18:00');
  assert.equal(relit(firstDay, 1, 0.554)[1]!.percent, '55.4 %');
  assert.equal(relit(firstDay, 1, 1.2)[1]!.percent, '100 %');
  const light = { ...atLevel(36000, 0.5), percent: '', ppfd: '40 µmol/m²/s' };
  assert.equal(relit([light], 0, 0.6)[0]!.ppfd, '48 µmol/m²/s');
});

test('keyframes are added in their place', () => {
  assert.equal(levelAt(firstDay, 8.5 * 3600), 0.5);
  assert.equal(levelAt([atLevel(6 * 3600, 1), atLevel(18 * 3600, 0)], 0), 0.5); // over midnight
  const after = addedAfter(firstDay, 0)!;
  assert.deepEqual([times(after.frames), after.at, after.frames[1]!.percent], ['08:00 08:30 09:00 17:00 18:00', 1, '50 %']);
  assert.equal(times(addedAfter(firstDay, 3)!.frames), '08:00 09:00 17:00 18:00 19:00');
  assert.equal(addedAfter([atLevel(86340, 1)], 0), null); // 23:59
  assert.equal(inserted(firstDay, atLevel(32430, 1)), null); // half a minute beside another one
  assert.deepEqual([times(moveTo(firstDay, 1, 17.5 * 3600)!.frames), moveTo(firstDay, 1, 17.5 * 3600)!.at], ['08:00 17:00 17:30 18:00', 2]);
  assert.equal(moveTo(firstDay, 1, 8 * 3600), null);
});

test('what is tried', () => {
  const text = '[{time: "10:00", level: 30 %}]', frames = [atLevel(36000, 0.3)];
  assert.deepEqual(withFrames({}, [list({})], list({}), frames), { 'day.keyframes': asYAML + text });
  assert.deepEqual(withFrames({ 'day.keyframes[1].level': '3 %', 'day.tariff': '1 EUR/kWh' }, [list({})], list({}), frames), { 'day.tariff': '1 EUR/kWh', 'day.keyframes': asYAML + text });
  const stated = list({ stated: true, removes: ['day.full_level_time', 'day.ramp_time'] });
  assert.deepEqual(withFrames({}, [stated], stated, frames), { 'day.keyframes': asBlock + text, 'day.full_level_time': gone, 'day.ramp_time': gone });
  assert.deepEqual(withFrames({}, [list({ frames: [] })], list({}), frames), { 'day.keyframes': asBlock + text });
  const own = list({ channel: 'red', shared: false, path: 'day.channels[0].keyframes' });
  assert.deepEqual(withFrames({}, [list({}), own], own, frames), { 'day.channels[0].keyframes': asYAML + text });
  assert.deepEqual(withFrames({}, [list({})], list({ ramp: 'eased' } as never), [{ ...frames[0]!, ramp: 'eased' }]), { 'day.keyframes': asYAML + '[{time: "10:00", level: 30 %, ramp: eased}]' });
});

test('own keyframes, and back', () => {
  const frames = [atLevel(36000, 0.3)], red = list({ channel: 'red', shared: false, path: 'day.channels[0].keyframes' }), file = [list({}), list({ channel: 'red' })];
  const added = asBlock + '{channel: red, keyframes: [{time: "10:00", level: 30 %}]}';
  const one = split({}, file, 'red', frames);
  assert.deepEqual(one, { 'day.channels[0]': added });
  const two = split(one, file, 'cool', frames);
  assert.deepEqual(Object.keys(two), ['day.channels[0]', 'day.channels[1]']);
  assert.deepEqual(Object.keys(joined(two, file, 'red')), ['day.channels[0]']);
  assert.match(joined(two, file, 'red')['day.channels[0]']!, /channel: cool/);
  assert.deepEqual(withFrames(one, file, red, [atLevel(39600, 0.3)]), { 'day.channels[0]': added.replace('10:00', '11:00') });
  // In the file, the list keeps its number until it is written.
  const filed = [list({}), red];
  assert.deepEqual(joined({ 'day.channels[0].keyframes': 'x' }, filed, 'red'), { 'day.channels[0]': gone });
  assert.deepEqual(split({ 'day.channels[0]': gone }, filed, 'red', frames), { 'day.channels[0].keyframes': asYAML + '[{time: "10:00", level: 30 %}]' });
});

test('a programme is named by what is tried of the day, in any order', () => {
  const key = (tried: Record<string, string>, other = {}) => programmeKey({ hash: 'a', date: '', case: '', tried, ...other });
  const tried = { 'day.keyframes': 'x', 'day.channels[1]': 'y' };
  assert.equal(key(tried), key({ 'day.channels[1]': 'y', 'board.length': '300 mm', 'daylight.hours': '8 h', 'day.keyframes': 'x' }));
  assert.notEqual(key(tried), key({ ...tried, 'day.keyframes': 'z' }));
  assert.notEqual(key(tried), key({ 'day.keyframes': 'x' }));
  for (const other of [{ hash: 'b' }, { date: '2024-06-21' }, { case: 'max-ambient' }]) assert.notEqual(key(tried), key(tried, other));
});

test('the lists follow a channel that leaves the others and joins them', () => {
  const own = [atLevel(6 * 3600, 0.4)], all = [list({ full: 0.9 }), list({ channel: 'red', full: 0.5 }), list({ channel: 'blue', full: 1 })];
  const apart = splitLists(all, 'red', own), back = joinedLists(apart, 'red');
  assert.deepEqual(apart.map((l) => [l.channel, l.shared, l.full, l.frames.length]), [['cool', true, 0.9, 4], ['red', false, 0.5, 1], ['blue', true, 1, 4]]);
  assert.deepEqual(back, all);
  assert.deepEqual([sameList(apart[0]!, apart[2]!), sameList(apart[0]!, apart[1]!), sameList(apart[1]!, apart[1]!), sameList(apart[1]!, list({ channel: 'blue', shared: false }))], [true, false, true, false]);
  const alone = [list({ shared: false, path: 'day.channels[0].keyframes' })];
  assert.deepEqual(joinedLists(alone, 'cool'), alone);
});
