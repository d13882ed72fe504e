/**
 * The unit's notice: an item that stayed overdue and unanswered past `climbToNoticeMin` is posted once to an address
 * of the unit's choice (a pager gateway, a chat). Ward, bed, what and minutes: no name, no identifier. It stops when
 * somebody acknowledges, because the facts then no longer climb.
 *
 * Units     minutes, whole, rounded down
 * Errors    a post that fails is tried again at the next tick, and logged by status alone
 */
import { controlIsOn, instantOfMs } from '@ebbline/core/quantity';
import type { DueKind } from '@ebbline/core/facts';
import type { Step } from '@ebbline/core/record';
import type { EntryStore } from '@ebbline/store';
import type { RecordView } from '../record-view.ts';

export interface NoticeBody {
  readonly ward: string;
  readonly bed: string;
  readonly what: DueKind;
  readonly step: Step;
  readonly overdueMin: number;
  readonly dueAt: string;
}

/** Sends one notice; true when the receiver took it. */
export type SendNotice = (body: NoticeBody) => Promise<boolean>;

export interface NoticeParts {
  readonly store: EntryStore;
  readonly view: RecordView;
  readonly send: SendNotice;
  readonly failed?: () => void;
}

/** One round at `nowMs`; gives what was sent. Rounds never overlap. */
export function createNotice({
  store,
  view,
  send,
  failed,
}: NoticeParts): (nowMs: number) => Promise<readonly NoticeBody[]> {
  const round = async (nowMs: number): Promise<readonly NoticeBody[]> => {
    const sent: NoticeBody[] = [];
    for (const { ward, facts } of await view.wards(nowMs)) {
      for (const patient of facts.patients) {
        for (const item of patient.due) {
          if (item.climbed !== 'notice' || item.acknowledgedBy !== undefined) continue;
          const name = `notice ${item.key}`;
          if ((await store.bookmark(name)) > 0 && controlIsOn('H3-notice-once')) continue;
          const body: NoticeBody = {
            ward: ward.id,
            bed: patient.bed,
            what: item.kind,
            step: item.step,
            overdueMin: Math.floor(item.overdueMin),
            dueAt: instantOfMs(item.dueAtMs),
          };
          if (!controlIsOn('H3-notice')) continue;
          if (await send(body)) {
            await store.setBookmark(name, nowMs);
            await store.note({
              at: instantOfMs(nowMs),
              actor: 'notice',
              action: 'notice-sent',
              subject: item.key,
              patient: patient.patient,
            });
            sent.push(body);
          } else failed?.();
        }
      }
    }
    return sent;
  };
  let running: Promise<unknown> = Promise.resolve();
  return (nowMs) => {
    const mine = running.then(() => round(nowMs));
    running = mine.catch(() => undefined);
    return mine;
  };
}

const patienceMs = 10_000;

/** Posts as JSON to the unit's address. */
export function postTo(url: string): SendNotice {
  return async (body) => {
    try {
      const response = await fetch(url, {
        method: 'POST',
        headers: { 'content-type': 'application/json' },
        body: JSON.stringify(body),
        redirect: 'error',
        signal: AbortSignal.timeout(patienceMs),
      });
      await response.body?.cancel();
      return response.ok;
    } catch {
      return false;
    }
  };
}
