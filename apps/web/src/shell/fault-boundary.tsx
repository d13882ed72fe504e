/** When a page cannot be drawn: says that nothing saved is lost, and offers the ways on. The other pages go on working. */
import { Component, type ReactNode } from 'react';
import { Key } from '../shared/key.tsx';
import { Notice } from '../shared/plate.tsx';

interface FaultBoundaryProps {
  /** A new value (another page) tries again. */
  readonly of: string;
  readonly children: ReactNode;
}

export class FaultBoundary extends Component<
  FaultBoundaryProps,
  { readonly of: string; readonly failed: boolean }
> {
  override state = { of: this.props.of, failed: false };

  static getDerivedStateFromError(): { readonly failed: boolean } {
    return { failed: true };
  }

  static getDerivedStateFromProps(
    props: FaultBoundaryProps,
    state: { readonly of: string; readonly failed: boolean },
  ): { readonly of: string; readonly failed: boolean } | null {
    return props.of === state.of ? null : { of: props.of, failed: false };
  }

  override render(): ReactNode {
    if (!this.state.failed) return this.props.children;
    return (
      <div role="alert">
        <Notice>
          <strong>This page cannot be shown.</strong> What was saved is kept on this tablet and is sent as
          usual. Open it again; if it stays, use the board and write on the paper sheet.
        </Notice>
        <p style={{ marginBlockStart: '1rem' }}>
          <Key look="main" onClick={() => location.reload()}>
            Open it again
          </Key>
        </p>
      </div>
    );
  }
}
