using HilRunner.Core.Links;
using HilRunner.Core.Time;
using HilRunner.Transport.Posix;

namespace HilRunner.Transport.Links;

/// <summary>
/// The reader thread of a link: waits in poll, reads into one buffer, stamps right after the read, hands over. Allocates
/// nothing once it runs. It ends when the wake event is set or the other end is gone, and says which.
/// </summary>
internal sealed unsafe class DescriptorReader
{
    private const int BufferBytes = 64 * 1024;
    private readonly Descriptor _from;
    private readonly WakeEvent _wake;
    private readonly HostClock _clock;
    private readonly ILinkReceiver _receiver;
    private readonly Func<Errno, LinkException> _describeLoss;
    private readonly byte[] _buffer = GC.AllocateUninitializedArray<byte>(BufferBytes, pinned: true);
    private readonly Thread _thread;

    /// <param name="describeLoss">Called on the reader thread with EIO, ECONNRESET … or None (end of file); what it returns goes to the receiver.</param>
    public DescriptorReader(
        string name, Descriptor from, WakeEvent wake, HostClock clock, ILinkReceiver receiver, Func<Errno, LinkException> describeLoss)
    {
        (_from, _wake, _clock, _receiver, _describeLoss) = (from, wake, clock, receiver, describeLoss);
        _thread = new(Run) { Name = $"reader of {name}", IsBackground = true };
    }

    /// <summary>False when the link is closed already.</summary>
    public bool TryStart()
    {
        if (!_from.TryHold()) { return false; }
        if (!_wake.Descriptor.TryHold())
        {
            _from.DangerousRelease();
            return false;
        }
        _thread.Start();
        return true;
    }

    /// <summary>Waits for the thread to end; at once when called on that thread, which ends after its callback.</summary>
    public bool Join(TimeSpan limit) =>
        Thread.CurrentThread == _thread || _thread.ThreadState.HasFlag(ThreadState.Unstarted) || _thread.Join(limit);

    private void Run()
    {
        try
        {
            Errno? loss = ReadUntilEnd();
            if (loss is { } error && !_wake.IsSet)
            {
                HostTime at = _clock.Now;
                _receiver.OnLost(_describeLoss(error), at);
            }
        }
        finally
        {
            _wake.Descriptor.DangerousRelease();
            _from.DangerousRelease();
        }
    }

    /// <summary>Null when woken, else why reading ended.</summary>
    private Errno? ReadUntilEnd()
    {
        PollEntry* entries = stackalloc PollEntry[2];
        entries[0] = new(_from.Number, Libc.POLLIN);
        entries[1] = new(_wake.Descriptor.Number, Libc.POLLIN);
        fixed (byte* buffer = _buffer)
        {
            bool hungUp = false;
            while (!_wake.IsSet)
            {
                nint count = Libc.Read(_from.Number, buffer, BufferBytes);
                HostTime arrival = _clock.Now;
                if (count > 0)
                {
                    _receiver.OnReceived(new(buffer, (int)count), arrival);
                    continue;
                }
                Errno error = count == 0 ? Errno.None : Libc.LastError;
                if (error == Errno.EINTR) { continue; }
                // A hang-up that leaves nothing to read would wake the poll over and over.
                if (error != Errno.EAGAIN || hungUp) { return error; }
                if (Libc.Poll(entries, 2, -1) < 0 && Libc.LastError != Errno.EINTR) { return Libc.LastError; }
                hungUp = entries[0].HungUp;
            }
        }
        return null;
    }
}
