using HilRunner.Core.Time;
using HilRunner.Transport.Posix;

namespace HilRunner.Transport.Links;

/// <summary>Writes all bytes in order to a non-blocking descriptor, waiting for room up to a limit.</summary>
internal static unsafe class DescriptorWriter
{
    /// <returns>The time just before the call that took the first byte: never later than its arrival at the other end.</returns>
    public static HostTime Write(Descriptor to, WakeEvent wake, HostClock clock, string name, ReadOnlySpan<byte> bytes, TimeSpan limit)
    {
        WriteLimit.Check(limit);
        if (wake.IsSet || !to.TryHold()) { throw LinkErrors.Closed(name); }
        try
        {
            if (!wake.Descriptor.TryHold()) { throw LinkErrors.Closed(name); }
            try { return WriteHeld(to.Number, wake, clock, name, bytes, limit); }
            finally { wake.Descriptor.DangerousRelease(); }
        }
        finally { to.DangerousRelease(); }
    }

    private static HostTime WriteHeld(int to, WakeEvent wake, HostClock clock, string name, ReadOnlySpan<byte> bytes, TimeSpan limit)
    {
        HostTime begin = clock.Now;
        HostTime first = begin;
        int done = 0;
        fixed (byte* start = bytes)
        {
            while (done < bytes.Length)
            {
                if (wake.IsSet) { throw LinkErrors.Closed(name); }
                if (done == 0) { first = clock.Now; }
                nint count = Libc.Write(to, start + done, (nuint)(bytes.Length - done));
                if (count > 0)
                {
                    done += (int)count;
                    continue;
                }
                Errno error = count == 0 ? Errno.EAGAIN : Libc.LastError;
                if (error == Errno.EINTR) { continue; }
                if (error != Errno.EAGAIN) { throw LinkErrors.Lost(name, error); }
                WaitForRoom(to, wake, name, WriteLimit.RemainingMs(limit, clock.Now - begin), (done, bytes.Length, limit));
            }
        }
        return first;
    }

    private static void WaitForRoom(int to, WakeEvent wake, string name, int limitMs, (int Done, int Of, TimeSpan Limit) progress)
    {
        PollEntry* entries = stackalloc PollEntry[2];
        entries[0] = new(to, Libc.POLLOUT);
        entries[1] = new(wake.Descriptor.Number, Libc.POLLIN);
        int ready = Libc.Poll(entries, 2, limitMs);
        if (ready == 0) { throw LinkErrors.WriteTimeout(name, progress.Done, progress.Of, progress.Limit); }
        if (ready < 0 && Libc.LastError is not Errno.EINTR and var error) { throw LinkErrors.Lost(name, error); }
        if (ready > 0 && entries[0].HungUp && (entries[0].Found & Libc.POLLOUT) == 0) { throw LinkErrors.Lost(name, Errno.EIO); }
    }
}
