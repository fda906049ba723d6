using HilRunner.Core.Links;
using HilRunner.Core.Time;
using HilRunner.Transport.Posix;

namespace HilRunner.Transport.Links;

/// <summary>
/// One end of a pair in memory, with the same contract as a link to hardware: what is written at one end arrives at the other,
/// at most 64 KiB are on the way in each direction. Disposing one end is a loss at the other.
/// </summary>
public sealed class MemoryLink : ILink
{
    private static readonly TimeSpan JoinLimit = TimeSpan.FromMilliseconds(500);
    private readonly HostClock _clock;
    private readonly MemoryPipe _in;
    private readonly MemoryPipe _out;
    private readonly Lock _starting = new();
    private Thread? _reader;

    private MemoryLink(string name, HostClock clock, MemoryPipe input, MemoryPipe output) =>
        (Name, _clock, _in, _out) = (name, clock, input, output);

    public string Name { get; }

    public static (MemoryLink A, MemoryLink B) CreatePair(HostClock clock)
    {
        var there = new MemoryPipe();
        var back = new MemoryPipe();
        return (new("memory:a", clock, back, there), new("memory:b", clock, there, back));
    }

    public void Start(ILinkReceiver receiver)
    {
        lock (_starting)
        {
            if (_reader is not null) { throw new InvalidOperationException($"{Name} is started already"); }
            _reader = new Thread(() => Run(receiver)) { Name = $"reader of {Name}", IsBackground = true };
            _reader.Start();
        }
    }

    public HostTime Write(ReadOnlySpan<byte> bytes, TimeSpan limit)
    {
        WriteLimit.Check(limit);
        return _out.Write(bytes, limit, _clock, out HostTime first, out int done) switch
        {
            MemoryPipe.End.Done => first,
            MemoryPipe.End.Full => throw LinkErrors.WriteTimeout(Name, done, bytes.Length, limit),
            MemoryPipe.End.ReaderGone => throw LinkErrors.Lost(Name, Errno.None),
            _ => throw LinkErrors.Closed(Name),
        };
    }

    public void Dispose()
    {
        _out.CloseWriter();
        _in.CloseReader();
        Thread? reader;
        lock (_starting) { reader = _reader; }
        if (reader is not null && reader != Thread.CurrentThread) { reader.Join(JoinLimit); }
    }

    private void Run(ILinkReceiver receiver)
    {
        byte[] buffer = new byte[MemoryPipe.CapacityBytes];
        while (true)
        {
            int count = _in.Read(buffer, out bool closedHere);
            HostTime at = _clock.Now;
            if (closedHere) { return; }
            if (count == 0)
            {
                receiver.OnLost(LinkErrors.Lost(Name, Errno.None), at);
                return;
            }
            receiver.OnReceived(buffer.AsSpan(0, count), at);
        }
    }
}
