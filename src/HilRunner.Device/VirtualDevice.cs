using HilRunner.Core.Links;
using HilRunner.Core.Models;
using HilRunner.Core.Time;
using HilRunner.Device.Faults;
using HilRunner.Device.Protocols;

namespace HilRunner.Device;

/// <summary>
/// The virtual device: hears samples over a link, classifies them with a host model, says what it found, and has faults on
/// demand. It stands for a board on the bench and knows nothing of the tool that drives it. README.md describes what it speaks.
/// </summary>
public sealed class VirtualDevice : IDisposable, ILinkReceiver
{
    private const int InboxBytes = 65_536;
    private const int OutboxMessages = 4_096;
    // A chip waits for its transmitter too, but not for ever; what was not taken by then is dropped and counted.
    private static readonly TimeSpan WriteLimit = TimeSpan.FromSeconds(1);

    private readonly ILink _link;
    private readonly HostClock _host;
    private readonly IDeviceProtocol _protocol;
    private readonly Firmware _firmware;
    private readonly ByteFaults _faults;
    private readonly AutoResetEvent _wake = new(false);
    private readonly Inbox _inbox;
    private readonly Outbox _outbox = new(OutboxMessages);
    private readonly ITimer _timer;
    private readonly byte[] _heard = new byte[4_096];
    private readonly byte[] _message;
    private readonly byte[] _damaged;
    private volatile bool _ended;
    private long _writesFailed;
    private Thread? _thread;

    /// <param name="link">The device's end; not disposed here, except when the device is unplugged.</param>
    public VirtualDevice(VirtualDeviceOptions options, MotionModel model, ILink link, HostClock clock)
    {
        _link = link;
        _host = clock;
        _inbox = new(InboxBytes, _wake);
        DeviceIdentity identity = new(string.Join('-', model.Name.Split((char[]?)null, StringSplitOptions.RemoveEmptyEntries)),
            options.Version, options.Image, model.Classes);
        _protocol = options.Protocol == VirtualDeviceProtocol.Lines
            ? new LinesProtocol(identity, model.Channels.Count)
            : new CobsProtocol(identity, model.Channels.Count);
        _faults = new(options);
        _message = new byte[_protocol.MaxLength];
        _damaged = new byte[2 * _protocol.MaxLength];
        _firmware = new(model, options, clock, Say, Forget);
        _timer = clock.Provider.CreateTimer(_ => _wake.Set(), null, Timeout.InfiniteTimeSpan, Timeout.InfiniteTimeSpan);
    }

    /// <summary>Exact once the device has ended; a snapshot before.</summary>
    public DeviceCounters Counters => new()
    {
        Boots = _firmware.Boots,
        SamplesConsumed = _firmware.Consumed,
        SamplesIgnored = _firmware.Ignored,
        MessagesRefused = _firmware.Refused,
        Decisions = _firmware.Decisions,
        MessagesDropped = _outbox.Dropped + Interlocked.Read(ref _writesFailed),
        BytesVanished = _inbox.Vanished,
        BytesLost = _faults.Lost,
        BytesGarbled = _faults.Garbled,
        BytesDuplicated = _faults.Duplicated,
    };

    /// <summary>Runs the device on a thread of its own, until it is disposed, unplugged, or its link is lost.</summary>
    public void Start()
    {
        // The link is started here and not on the new thread, so that it can be disposed as soon as this returns.
        _link.Start(this);
        _thread = new Thread(Live) { IsBackground = true, Name = "virtual device" };
        _thread.Start();
    }

    /// <summary>Runs the device on this thread, until it is cancelled, disposed, unplugged, or its link is lost. Once only.</summary>
    public void Run(CancellationToken cancellation)
    {
        using CancellationTokenRegistration _ = cancellation.Register(End);
        _link.Start(this);
        Live();
    }

    public void OnReceived(ReadOnlySpan<byte> bytes, HostTime arrival) => _inbox.Put(bytes);

    public void OnLost(LinkException cause, HostTime at) => End();

    public void Dispose()
    {
        End();
        // The thread ends within the write limit; without one, Run has returned or its caller ends it.
        _thread?.Join();
        _timer.Dispose();
    }

    /// <summary>Tells the device to end, without waiting for it.</summary>
    internal void End()
    {
        _ended = true;
        _inbox.Close();
        _wake.Set();
    }

    private void Live()
    {
        _firmware.Boot();
        while (!_ended)
        {
            SayWhatIsDue();
            Hear();
            if (_ended) { break; }
            SayWhatIsDue();
            SetTimer();
            _wake.WaitOne();
        }
        _inbox.Close();
    }

    private void Hear()
    {
        int count;
        while (!_ended && (count = _inbox.Take(_heard)) > 0)
        {
            _protocol.Feed(_heard.AsSpan(0, count), _firmware);
            if (_firmware.Stop == DeviceStop.None)
            {
                SayWhatIsDue();
                continue;
            }
            _inbox.Close();
            Forget();
            if (_firmware.Stop == DeviceStop.Hung) { return; }
            _link.Dispose();
            _ended = true;
        }
    }

    private void Say(DeviceSaying saying, TimeSpan delay) =>
        _outbox.Add(_host.Now + delay, _message.AsSpan(0, _protocol.Encode(saying, _message)));

    // What was due by now had left the chip before it stopped or restarted; what waits is lost with its memory.
    private void Forget()
    {
        SayWhatIsDue();
        _outbox.Clear();
    }

    private void SayWhatIsDue()
    {
        while (!_ended && _outbox.TryPeek(out HostTime due) && due <= _host.Now) { Write(_outbox.Take()); }
    }

    private void Write(ReadOnlySpan<byte> message)
    {
        if (_faults.Active)
        {
            int count = _faults.Apply(message, _damaged);
            message = _damaged.AsSpan(0, count);
            if (count == 0) { return; }
        }
        try
        {
            _link.Write(message, WriteLimit);
        }
        catch (LinkException e)
        {
            Interlocked.Increment(ref _writesFailed);
            if (e.Fault == LinkFault.Lost) { End(); }
        }
    }

    private void SetTimer()
    {
        if (!_outbox.TryPeek(out HostTime due)) { return; }
        long restNs = due - _host.Now;
        if (restNs <= 0)
        {
            _wake.Set();
            return;
        }
        // Timers count in whole milliseconds: less would fire at once, again and again.
        _timer.Change(TimeSpan.FromTicks((Math.Max(restNs, 1_000_000) + 99) / 100), Timeout.InfiniteTimeSpan);
    }
}
