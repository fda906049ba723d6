using System.ComponentModel;
using System.Runtime.InteropServices;

namespace HilRunner.Device.Waiting;

/// <summary>
/// What the device's thread waits on: it wakes when rung, or when a time has passed. On Linux to within the machine's own
/// wake-up time (an eventfd in ppoll, timer slack 1 ns; measured in README.md); elsewhere to the whole millisecond above.
/// One thread waits; any thread rings, and pays for a system call only where that thread sleeps.
/// </summary>
internal sealed unsafe partial class Bell
{
    private const int Silent = 0;
    private const int Rung = 1;
    private const int Awaited = 2;
    private const int CloseOnExec = 0x80000;
    private const short Readable = 0x1;
    private const int SetTimerSlack = 29;
    private const long NsPerSecond = 1_000_000_000;

    private readonly AutoResetEvent? _event = OperatingSystem.IsLinux() ? null : new(false);
    private int _descriptor = -1;
    private int _state;

    /// <summary>Called once, on the thread that will wait, before it does.</summary>
    public void EnterThread()
    {
        if (_event is not null) { return; }
        _descriptor = eventfd(0, CloseOnExec);
        if (_descriptor < 0) { throw new Win32Exception(Marshal.GetLastPInvokeError()); }
        _ = prctl(SetTimerSlack, 1, 0, 0, 0);
    }

    /// <summary>Called once, on that thread, after its last wait: whoever rings from then on reaches nobody, and nothing breaks.</summary>
    public void LeaveThread()
    {
        if (_descriptor >= 0) { _ = close(_descriptor); }
    }

    /// <summary>Ends the wait that is on, or the next one.</summary>
    public void Ring()
    {
        if (Interlocked.Exchange(ref _state, Rung) != Awaited) { return; }
        if (_event is not null)
        {
            _event.Set();
            return;
        }
        ulong one = 1;
        _ = write(_descriptor, &one, sizeof(ulong));
    }

    /// <summary>Returns once rung, or after this long; it may return early.</summary>
    /// <param name="limitNs">Null: only when rung.</param>
    public void Wait(long? limitNs)
    {
        if (Interlocked.CompareExchange(ref _state, Awaited, Silent) == Silent)
        {
            Sleep(limitNs);
            // Who rang while this thread was asleep has written, or is about to: its word is awaited, so that none is left over.
            if (Interlocked.Exchange(ref _state, Silent) == Rung) { Take(); }
            return;
        }
        Volatile.Write(ref _state, Silent);
    }

    private void Sleep(long? limitNs)
    {
        if (_event is not null)
        {
            // The event stays set for Take, which then does not wait.
            if (_event.WaitOne(limitNs is { } ns ? TimeSpan.FromMilliseconds((ns + 999_999) / 1_000_000) : Timeout.InfiniteTimeSpan)) { _event.Set(); }
            return;
        }
        var entry = new PollEntry { Descriptor = _descriptor, Events = Readable };
        var limit = new TimeSpec { Seconds = (nint)((limitNs ?? 0) / NsPerSecond), Nanoseconds = (nint)((limitNs ?? 0) % NsPerSecond) };
        _ = ppoll(&entry, 1, limitNs is null ? null : &limit, null);
    }

    private void Take()
    {
        if (_event is not null)
        {
            _event.WaitOne();
            return;
        }
        ulong count;
        _ = read(_descriptor, &count, sizeof(ulong));
    }

    [StructLayout(LayoutKind.Sequential)]
    private struct PollEntry
    {
        public int Descriptor;
        public short Events;
        public short Found;
    }

    [StructLayout(LayoutKind.Sequential)]
    private struct TimeSpec
    {
        public nint Seconds;
        public nint Nanoseconds;
    }

    [LibraryImport("libc", SetLastError = true)]
    private static partial int eventfd(uint initial, int flags);

    [LibraryImport("libc")]
    private static partial int ppoll(PollEntry* entries, nuint count, TimeSpec* limit, void* signals);

    [LibraryImport("libc")]
    private static partial nint read(int descriptor, void* buffer, nuint count);

    [LibraryImport("libc")]
    private static partial nint write(int descriptor, void* buffer, nuint count);

    [LibraryImport("libc")]
    private static partial int close(int descriptor);

    [LibraryImport("libc")]
    private static partial int prctl(int option, ulong a, ulong b, ulong c, ulong d);
}
