import { hourMs, minuteMs, wallClock } from '@ebbline/core/quantity';
import type { Entry } from '@ebbline/core/record';
import { cast, type SceneOptions } from './scene.ts';

/**
 * The last instant before `nowMs` at which a zone put its clocks back (the hour that follows is the repeated one);
 * undefined for a zone that did not in the last 400 days.
 */
export function lastRepeatedHour(nowMs: number, zone: string): number | undefined {
  const hour = Math.floor(nowMs / hourMs) * hourMs;
  for (let back = 1; back <= 400 * 24; back += 24) {
    const late = hour - back * hourMs;
    if (wallClock(late, zone).offsetMinutes >= wallClock(late - 24 * hourMs, zone).offsetMinutes) continue;
    for (let step = 0; step < 48; step += 1) {
      const at = late - step * 30 * minuteMs;
      if (wallClock(at, zone).offsetMinutes < wallClock(at - 1, zone).offsetMinutes) return at;
    }
  }
  return undefined;
}

/** A watch through the night in which 02:30 came twice: the void at 02:30 (first), the residual at 02:30 (second). */
export function clockChangeNight(options: SceneOptions): readonly Entry[] {
  const backMs = lastRepeatedHour(options.nowMs, options.zone);
  if (backMs === undefined || options.nowMs - backMs < 12 * hourMs) return [];
  // The scene is told as if it were five hours after the clocks went back.
  const { chart, ago, opened, owner, read } = cast(
    { ...options, nowMs: backMs + 5 * hourMs },
    {
      patient: 'patient-clock-change',
      ward: 'ward-dunlin',
      bed: '5',
      owner: 'vera-ixworth',
      setting: 'after-surgery',
      reason: 'Knee operation, the night the clocks went back',
      person: {
        familyName: 'Dunmere',
        givenName: 'Berit',
        ageYears: 63,
        sex: 'female',
        number: 'EX-70801-X',
      },
      openedAgo: 600,
      lastVoidAgo: 780,
      weightKg: 67,
    },
  );
  chart.advise(opened, 'firstLook');
  chart.advise(read(590, 210), 'lookSoon');
  chart.advise(read(430, 330), 'promote');
  const passed = chart.add('void', ago(330), owner, { how: 'measured', volumeMl: 360, urge: true });
  chart.advise(passed, 'residual');
  chart.advise(
    read(270, 150, { relation: 'after-void', sinceVoidMin: 60, note: 'An hour after the void: late' }),
    'residualRaised',
  );
  const again = chart.add('void', ago(110), owner, { how: 'measured', volumeMl: 300, urge: true });
  chart.advise(again, 'residual');
  chart.advise(read(100, 60, { relation: 'after-void', sinceVoidMin: 10 }), 'nextVoid');
  chart.add('watch-closed', ago(20), owner, { outcome: 'discharged', residualMl: 60 });
  return chart.entries;
}
