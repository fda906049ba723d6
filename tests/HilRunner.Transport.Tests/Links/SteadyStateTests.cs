using HilRunner.Core.Links;
using HilRunner.Core.Time;
using HilRunner.Transport.Links;

namespace HilRunner.Transport.Tests.Links;

/// <summary>The measured part of a run allocates nothing, so that the garbage collector has no reason to stop it.</summary>
[TestFixture]
public sealed class SteadyStateTests
{
    private static readonly TimeSpan Limit = TimeSpan.FromSeconds(5);
    private readonly HostClock _clock = new(TimeProvider.System);

    [Test]
    public void Neither_reading_nor_writing_allocates()
    {
        using PtyHost host = PtyHost.Create(_clock);
        using ILink link = Opener.Create(_clock).Open(new SerialLinkSpec(host.Path, 115_200));
        var meter = new Meter(host);
        host.Start(meter);
        link.Start(new Deaf());
        const int Singly = 200;
        byte[] message = new byte[16];
        for (int n = 0; n < 500; n++) { link.Write(message, Limit); }
        meter.WaitFor(500 * 16);
        long before = GC.GetAllocatedBytesForCurrentThread();
        for (int n = 0; n < 2000; n++) { link.Write(message, Limit); }
        long written = GC.GetAllocatedBytesForCurrentThread() - before;
        meter.WaitFor(2500 * 16);
        // How many writes one read takes up is the scheduler's affair; each of these is waited for, and so is read by itself.
        for (int n = 1; n <= Singly; n++)
        {
            link.Write(message, Limit);
            meter.WaitFor((2500 + n) * 16);
        }
        Assert.That(written, Is.Zero, "bytes allocated by 2000 writes");
        Assert.That(meter.Allocated, Is.Zero, "bytes allocated on the reader thread, which writes an answer each time");
        Assert.That(meter.Calls, Is.GreaterThanOrEqualTo(Singly), "arrivals that were measured");
    }

    /// <summary>Answers each arrival, and sums what its thread allocated since the first thousand bytes.</summary>
    private sealed class Meter(ILink answerTo) : ILinkReceiver
    {
        private readonly object _gate = new();
        private long _start = -1;
        private int _bytes;

        public long Allocated { get; private set; }
        public int Calls { get; private set; }

        public void OnReceived(ReadOnlySpan<byte> bytes, HostTime arrival)
        {
            answerTo.Write(bytes[..1], Limit);
            lock (_gate)
            {
                _bytes += bytes.Length;
                Calls++;
                long now = GC.GetAllocatedBytesForCurrentThread();
                if (_start < 0 && _bytes > 1000) { _start = now; }
                Allocated = _start < 0 ? 0 : now - _start;
                Monitor.PulseAll(_gate);
            }
        }

        public void OnLost(LinkException cause, HostTime at) { }

        public void WaitFor(int count)
        {
            lock (_gate)
            {
                while (_bytes < count) { Assert.That(Monitor.Wait(_gate, 5000), Is.True, "nothing more arrives"); }
            }
        }

    }

    private sealed class Deaf : ILinkReceiver
    {
        public void OnReceived(ReadOnlySpan<byte> bytes, HostTime arrival) { }
        public void OnLost(LinkException cause, HostTime at) { }
    }
}
