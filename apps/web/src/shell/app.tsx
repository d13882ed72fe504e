/** What the page shows: its door, its lock, or the frame with one page in it. */
import { Suspense, useEffect, useReducer, useSyncExternalStore, type ReactNode } from 'react';
import { Patterns } from '../shared/patterns.tsx';
import { LockPage } from '../features/sign-in/lock-page.tsx';
import { SignInPage } from '../features/sign-in/sign-in-page.tsx';
import { FaultBoundary } from './fault-boundary.tsx';
import { Frame } from './frame.tsx';
import { ReplicaContext } from './hooks.ts';
import { maySeeContent } from './lock.ts';
import { letNewerBuildTakeOver } from './register-worker.ts';
import type { Session } from './session.ts';
import { SessionContext } from './session-context.ts';
import { followTablet } from './theme.ts';

type Shown = Pick<Session, 'subscribe' | 'current'>;

/** @param frame what stands in the page while somebody is there */
export function App({
  session,
  frame = <Frame />,
}: {
  readonly session: Session | Shown;
  readonly frame?: ReactNode;
}): ReactNode {
  const state = useSyncExternalStore(session.subscribe, session.current, session.current);
  const open =
    (state.at === 'in' || state.at === 'locked') && maySeeContent({ locked: state.at === 'locked' })
      ? state.replica
      : undefined;
  const person = state.at === 'in' ? state.me.id : undefined;
  useEffect(() => (person === undefined ? undefined : followTablet(person)), [person]);
  const [, drawAgain] = useReducer((count: number) => count + 1, 0);
  // The drawing before the last is held in memory until there is another: with it, whatever was on the page.
  useEffect(drawAgain, [drawAgain, state.at]);
  useEffect(() => {
    if (state.at === 'signed-out' || state.at === 'locked') letNewerBuildTakeOver();
  }, [state.at]);

  return (
    <SessionContext value={session as Session}>
      <Patterns />
      {state.at === 'starting' ? <p className="heard">Opening Ebbline.</p> : null}
      {state.at === 'signed-out' ? (
        <SignInPage welcome={state.welcome} reached={state.reached} waiting={state.waiting} />
      ) : null}
      {state.at === 'locked' && !open ? (
        <LockPage me={state.me} people={state.people} ended={state.ended} waiting={state.waiting} />
      ) : null}
      {open ? (
        <ReplicaContext value={open}>
          <FaultBoundary of={open.me.id}>
            <Suspense>{frame}</Suspense>
          </FaultBoundary>
        </ReplicaContext>
      ) : null}
    </SessionContext>
  );
}
