using System.IO.Ports;
using HilRunner.Core.Links;
using HilRunner.Core.Time;
using HilRunner.Transport.Links;

namespace HilRunner.Benchmarks.Links;

/// <summary>The same two jobs as links.c does, by a link and by System.IO.Ports.</summary>
internal static class LinkContenders
{
    private static readonly byte[] Message = "0123456789abcde\n"u8.ToArray();
    private static readonly TimeSpan Limit = TimeSpan.FromSeconds(10);

    /// <summary>Bytes a second, from the first arrival to the last within the time.</summary>
    public static double ReadStream(HostClock clock, string path, double seconds)
    {
        using ILink link = Open(clock, path);
        using var counter = new StreamCounter(TimeSpan.FromSeconds(seconds));
        link.Start(counter);
        counter.Wait();
        return counter.BytesPerSecond;
    }

    /// <summary>From the stamp a write returns to the stamp of the answer's last byte; the next message leaves from the reader's callback.</summary>
    public static long[] Ping(HostClock clock, string path, int count)
    {
        using ILink link = Open(clock, path);
        using var pinger = new Pinger(link, count);
        link.Start(pinger);
        pinger.Begin();
        pinger.Wait();
        return pinger.RoundTrips;
    }

    public static double ReadStreamBySerialPort(HostClock clock, string path, double seconds)
    {
        using SerialPort port = OpenSerialPort(path);
        byte[] buffer = new byte[65536];
        _ = port.Read(buffer, 0, buffer.Length);
        HostTime begin = clock.Now;
        HostTime end = begin + TimeSpan.FromSeconds(seconds);
        HostTime last = begin;
        long bytes = 0;
        while (last < end)
        {
            bytes += port.Read(buffer, 0, buffer.Length);
            last = clock.Now;
        }
        return bytes / ((last - begin) / 1e9);
    }

    public static long[] PingBySerialPort(HostClock clock, string path, int count)
    {
        using SerialPort port = OpenSerialPort(path);
        byte[] buffer = new byte[Message.Length];
        long[] roundTrips = new long[count];
        for (int n = 0; n < count; n++)
        {
            HostTime begin = clock.Now;
            port.Write(Message, 0, Message.Length);
            for (int got = 0; got < buffer.Length;) { got += port.Read(buffer, got, buffer.Length - got); }
            roundTrips[n] = clock.Now - begin;
        }
        return roundTrips;
    }

    private static ILink Open(HostClock clock, string path) =>
        new LinkOpener(clock, _ => throw new InvalidOperationException("no virtual device here")).Open(new PtyLinkSpec(path));

    private static SerialPort OpenSerialPort(string path)
    {
        var port = new SerialPort(path, 115_200) { ReadTimeout = 10_000, WriteTimeout = 10_000 };
        port.Open();
        return port;
    }

    private sealed class StreamCounter(TimeSpan time) : ILinkReceiver, IDisposable
    {
        private readonly ManualResetEventSlim _done = new();
        private HostTime? _first;
        private HostTime _last;
        private long _bytes;

        public double BytesPerSecond => _bytes / ((_last - _first!.Value) / 1e9);

        public void OnReceived(ReadOnlySpan<byte> bytes, HostTime arrival)
        {
            if (_done.IsSet) { return; }
            if (_first is not { } first)
            {
                _first = arrival;
                return;
            }
            _bytes += bytes.Length;
            _last = arrival;
            if (arrival >= first + time) { _done.Set(); }
        }

        public void OnLost(LinkException cause, HostTime at) => Environment.FailFast(cause.Message);

        public void Wait() => _done.Wait();

        public void Dispose() => _done.Dispose();
    }

    private sealed class Pinger(ILink link, int count) : ILinkReceiver, IDisposable
    {
        private readonly ManualResetEventSlim _done = new();
        private HostTime _sent;
        private int _got;
        private int _trips;

        public long[] RoundTrips { get; } = new long[count];

        public void Begin() => _sent = link.Write(Message, Limit);

        public void OnReceived(ReadOnlySpan<byte> bytes, HostTime arrival)
        {
            _got += bytes.Length;
            if (_got < Message.Length) { return; }
            _got -= Message.Length;
            RoundTrips[_trips++] = arrival - _sent;
            if (_trips == count) { _done.Set(); }
            else { Begin(); }
        }

        public void OnLost(LinkException cause, HostTime at) => Environment.FailFast(cause.Message);

        public void Wait() => _done.Wait();

        public void Dispose() => _done.Dispose();
    }
}
