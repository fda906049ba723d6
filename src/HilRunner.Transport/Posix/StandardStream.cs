using System.ComponentModel;

namespace HilRunner.Transport.Posix;

/// <summary>
/// This process's standard output or its error output, as a stream that never throws: what nobody can read any more (a pipe whose
/// reader is gone, a terminal that was closed, a descriptor that was closed before the process began) is dropped, so that work
/// goes on, and anything else that went wrong is kept for <see cref="Fault"/>. Written from several threads in turn.
/// </summary>
public sealed class StandardStream : Stream
{
    /// <summary>Of fcntl(2); what this process opened has it, what it inherited cannot.</summary>
    private const int F_GETFD = 1, FD_CLOEXEC = 1;

    private readonly int _descriptor;
    private readonly object _gate = new();
    private readonly CancellationTokenSource _gone = new();
    private bool _over;

    private StandardStream(int descriptor)
    {
        _descriptor = descriptor;
        // A number that was closed may by now be that of a file of ours.
        int flags = Libc.Fcntl(descriptor, F_GETFD, 0);
        if (flags < 0 || (flags & FD_CLOEXEC) != 0) { End(); }
    }

    /// <summary>Whether this system has what it takes; elsewhere the runtime's own stream has to do.</summary>
    public static bool IsAvailable => Libc.IsAvailable;

    /// <summary>Cancelled as soon as nobody reads it any more.</summary>
    public CancellationToken Gone => _gone.Token;

    /// <summary>
    /// Why not all was written although somebody may wait for it, such as a full disk; null: nothing is missing.
    /// </summary>
    public string? Fault { get; private set; }

    public override bool CanRead => false;
    public override bool CanSeek => false;
    public override bool CanWrite => true;
    public override long Length => throw new NotSupportedException();
    public override long Position { get => throw new NotSupportedException(); set => throw new NotSupportedException(); }

    /// <param name="descriptor">1 or 2.</param>
    public static StandardStream Of(int descriptor) => new(descriptor);

    public override void Write(byte[] buffer, int offset, int count) => Write(buffer.AsSpan(offset, count));

    public override unsafe void Write(ReadOnlySpan<byte> buffer)
    {
        lock (_gate)
        {
            fixed (byte* start = buffer)
            {
                for (int done = 0; done < buffer.Length && !_over;)
                {
                    nint written = Libc.Write(_descriptor, start + done, (nuint)(buffer.Length - done));
                    if (written >= 0) { done += (int)written; }
                    else { Failed(Libc.LastError); }
                }
            }
        }
    }

    public override void Flush() { }
    public override int Read(byte[] buffer, int offset, int count) => throw new NotSupportedException();
    public override long Seek(long offset, SeekOrigin origin) => throw new NotSupportedException();
    public override void SetLength(long value) => throw new NotSupportedException();

    private unsafe void Failed(Errno error)
    {
        switch (error)
        {
            case Errno.EINTR: return;
            case Errno.EAGAIN:
                // Somebody made it non-blocking, for us too.
                var entry = new PollEntry(_descriptor, Libc.POLLOUT);
                _ = Libc.Poll(&entry, 1, -1);
                return;
            case Errno.EPIPE or Errno.EIO or Errno.EBADF or Errno.ENXIO: break;
            default: Fault = new Win32Exception((int)error).Message; break;
        }
        End();
    }

    private void End()
    {
        _over = true;
        _gone.Cancel();
    }
}
