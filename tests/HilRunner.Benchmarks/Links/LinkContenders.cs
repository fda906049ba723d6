using System.IO.Ports;
using HilRunner.Benchmarks.Decoding;
using HilRunner.Core.Links;
using HilRunner.Core.Messages;
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

    /// <summary>As <see cref="ReadStream"/>, and every line decoded to a message on the reader thread, as a player does it.</summary>
    public static double ReadAndDecodeStream(HostClock clock, string path, double seconds)
    {
        using ILink link = Open(clock, path);
        using IDeviceDecoder decoder = DecodeBenchmarks.NewLinesDecoder();
        using var counter = new StreamCounter(TimeSpan.FromSeconds(seconds), decoder);
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

    private sealed class StreamCounter(TimeSpan time, IDeviceDecoder? decoder = null) : ILinkReceiver, IMessageSink, IDisposable
    {
        private readonly ManualResetEventSlim _done = new();
        private HostTime? _first;
        private HostTime _last;
        private long _bytes;
        private long _messages;

        /// <summary>Refuses to count what was not decoded although it should have been: a message takes about 20 bytes.</summary>
        public double BytesPerSecond => decoder is null || _messages > _bytes / 40
            ? _bytes / ((_last - _first!.Value) / 1e9)
            : throw new InvalidOperationException($"{_messages} messages in {_bytes} bytes");

        public void OnReceived(ReadOnlySpan<byte> bytes, HostTime arrival)
        {
            if (_done.IsSet) { return; }
            decoder?.Feed(bytes, arrival, this);
            if (_first is not { } first)
            {
                _first = arrival;
                return;
            }
            _bytes += bytes.Length;
            _last = arrival;
            if (arrival >= first + time) { _done.Set(); }
        }

        public void OnMessage(in DeviceMessage message) => _messages++;

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
