/** When a page cannot be drawn: says that nothing saved is lost, and offers the ways on. The other pages go on working. */
import { Component, type ReactNode } from 'react';
import { Key } from '../shared/key.tsx';
import { Notice } from '../shared/plate.tsx';
import { askAgain, PageNotHere } from './places.ts';

interface FaultBoundaryProps {
  /** A new value (another page) tries again. */
  readonly of: string;
  readonly children: ReactNode;
}

interface FaultState {
  readonly of: string;
  readonly fault: 'none' | 'not-here' | 'broken';
}

export class FaultBoundary extends Component<FaultBoundaryProps, FaultState> {
  override state: FaultState = { of: this.props.of, fault: 'none' };

  static getDerivedStateFromError(error: unknown): Pick<FaultState, 'fault'> {
    return { fault: error instanceof PageNotHere ? 'not-here' : 'broken' };
  }

  static getDerivedStateFromProps(props: FaultBoundaryProps, state: FaultState): FaultState | null {
    return props.of === state.of ? null : { of: props.of, fault: 'none' };
  }

  override render(): ReactNode {
    const { fault } = this.state;
    if (fault === 'none') return this.props.children;
    return (
      <div role="alert">
        <Notice>
          {fault === 'not-here' ? (
            <>
              <strong>This page is not on the tablet yet.</strong> It comes when the network is there. The
              board and what was saved are here and go on working.
            </>
          ) : (
            <>
              <strong>This page cannot be shown.</strong> What was saved is kept on this tablet and is sent as
              usual. Open it again; if it stays, use the board and write on the paper sheet.
            </>
          )}
        </Notice>
        <p style={{ marginBlockStart: '1rem' }}>
          <Key
            look="main"
            onClick={() => (fault === 'not-here' ? void this.#openAgain() : location.reload())}
          >
            Open it again
          </Key>
        </p>
      </div>
    );
  }

  /** Loads everything anew when the server answers; without it that would leave an empty window. */
  async #openAgain(): Promise<void> {
    const reached = await fetch('/healthz', { cache: 'no-store' }).then(
      (answer) => answer.ok,
      () => false,
    );
    if (reached) return location.reload();
    askAgain();
    this.setState({ fault: 'none' });
  }
}
