using HilRunner.Core.Links;
using HilRunner.Core.Time;

namespace HilRunner.Emulated.Tests.Bench;

/// <summary>Says bytes to a device and keeps the frames that it says, opened; a damaged one is kept as null.</summary>
internal sealed class FrameTalk : ILinkReceiver
{
    private readonly ILink _link;
    private readonly object _gate = new();
    private readonly List<byte[]> _raw = [];
    private readonly List<byte[]?> _frames = [];
    private readonly List<byte> _open = [];

    public FrameTalk(ILink link)
    {
        _link = link;
        link.Start(this);
    }

    /// <summary>As they were on the wire, closing zero included.</summary>
    public byte[][] Raw { get { lock (_gate) { return [.. _raw]; } } }

    public byte[]?[] Frames { get { lock (_gate) { return [.. _frames]; } } }

    public void Say(params byte[][] frames)
    {
        foreach (byte[] frame in frames) { _link.Write(frame, LineTalk.Limit); }
    }

    /// <summary>Waits for a further frame, after the first <paramref name="after"/> ones, that is so, and gives it.</summary>
    public byte[] WaitFor(Predicate<byte[]> wanted, string what, int after = 0)
    {
        HostTime end = Emulator.Clock.Now + LineTalk.Limit;
        lock (_gate)
        {
            while (true)
            {
                if (_frames.Skip(after).FirstOrDefault(f => f is not null && wanted(f)) is { } found) { return found; }
                if (Emulator.Clock.Now > end) { Assert.Fail($"waited {LineTalk.Limit.TotalSeconds} s for {what}; {_frames.Count} frames came, the last: {(_raw.Count > 0 ? Convert.ToHexString(_raw[^1]) : "")}"); }
                Monitor.Wait(_gate, 1000);
            }
        }
    }

    /// <summary>Asks for the time with this token and waits for the answer: everything said before has been heard then.</summary>
    public uint Time(uint token)
    {
        int before = Frames.Length;
        Say(Protocol.Frames.Of(0x05, Protocol.Frames.U32(token)));
        byte[] answer = WaitFor(f => f[0] == 0x85 && BitConverter.ToUInt32(f, 1) == token, $"the answer to clock question {token}", before);
        return BitConverter.ToUInt32(answer, 5);
    }

    public void OnReceived(ReadOnlySpan<byte> bytes, HostTime arrival)
    {
        lock (_gate)
        {
            foreach (byte b in bytes)
            {
                if (b != 0)
                {
                    _open.Add(b);
                    continue;
                }
                if (_open.Count == 0) { continue; }
                _frames.Add(Protocol.Frames.Opened([.. _open]));
                _raw.Add([.. _open, 0]);
                _open.Clear();
            }
            Monitor.PulseAll(_gate);
        }
    }

    public void OnLost(LinkException cause, HostTime at)
    {
    }
}
