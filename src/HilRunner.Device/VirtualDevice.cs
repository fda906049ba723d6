using HilRunner.Core.Links;
using HilRunner.Core.Models;
using HilRunner.Core.Numerics;
using HilRunner.Core.Time;
using HilRunner.Device.Faults;
using HilRunner.Device.Protocols;
using HilRunner.Device.Waiting;

namespace HilRunner.Device;

/// <summary>
/// The virtual device: hears samples over a link, classifies them with a host model, says what it found, and has faults on
/// demand. It stands for a board on the bench and knows nothing of the tool that drives it. README.md describes what it speaks.
/// </summary>
public sealed class VirtualDevice : IDisposable, ILinkReceiver
{
    private const int InboxBytes = 65_536;
    private const int OutboxMessages = 4_096;
    private const long LongestSleepNs = 20_000_000;
    // A chip waits for its transmitter too, but not for ever; what was not taken by then is dropped and counted.
    private static readonly TimeSpan WriteLimit = TimeSpan.FromSeconds(1);

    private readonly ILink _link;
    private readonly HostClock _host;
    private readonly IDeviceProtocol _protocol;
    private readonly Firmware _firmware;
    private readonly ByteFaults _faults;
    private readonly IDeviceObserver? _observer;
    private readonly Bell _bell = new();
    private readonly Inbox _inbox;
    private readonly Outbox _outbox = new(OutboxMessages);
    private readonly LinkTime _linkOut;
    // Said, and still in the link: neither reset nor hang takes it back.
    private readonly Outbox _onTheWay = new(OutboxMessages);
    private readonly byte[] _heard = new byte[4_096];
    private readonly byte[] _message;
    private readonly byte[] _damaged;
    private volatile bool _ended;
    private bool _stopMet;
    private long _writesFailed;
    private long _said;
    private Thread? _thread;

    /// <param name="link">The device's end; not disposed here, except when the device is unplugged.</param>
    /// <param name="ride">What it is mounted on; null: a bench that stands still.</param>
    /// <param name="observer">Is told what the device did and when; null: nobody.</param>
    public VirtualDevice(VirtualDeviceOptions options, MotionModel model, ILink link, HostClock clock, IDeviceObserver? observer = null, Ride? ride = null)
    {
        _link = link;
        _host = clock;
        _observer = observer;
        // Two streams that do not depend on each other, nor on those of the other faults.
        ulong seed = options.Seed;
        _linkOut = new(options.LinkOut, options.LinkJitter, Xoshiro256.Mix(ref seed));
        _inbox = new(InboxBytes, _bell, new(options.LinkIn, options.LinkJitter, Xoshiro256.Mix(ref seed)));
        DeviceIdentity identity = new(string.Join('-', model.Name.Split((char[]?)null, StringSplitOptions.RemoveEmptyEntries)),
            options.Version, options.Image, model.Classes);
        _protocol = options.Protocol == VirtualDeviceProtocol.Lines
            ? new LinesProtocol(identity, model.Channels.Count, model.Features.Count)
            : new CobsProtocol(identity, model.Channels.Count);
        _faults = new(options);
        _message = new byte[_protocol.MaxLength];
        _damaged = new byte[2 * _protocol.MaxLength];
        _firmware = new(model, options, clock, Say, Forget, observer, Sensor.Of(model, options, ride));
    }

    /// <summary>Exact once the device has ended; a snapshot before.</summary>
    public DeviceCounters Counters => new()
    {
        Boots = _firmware.Boots,
        SamplesConsumed = _firmware.Consumed,
        SamplesIgnored = _firmware.Ignored,
        SamplesMeasured = _firmware.Measured,
        MessagesRefused = _firmware.Refused,
        Decisions = _firmware.Decisions,
        MessagesDropped = Dropped,
        MessagesSaid = _said,
        AnswersLost = _firmware.AnswersLost,
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

    public void OnReceived(ReadOnlySpan<byte> bytes, HostTime arrival) => _inbox.Put(bytes, arrival);

    public void OnLost(LinkException cause, HostTime at) => End();

    public void Dispose()
    {
        End();
        // The thread ends within the write limit; without one, Run has returned or its caller ends it.
        _thread?.Join();
    }

    /// <summary>Tells the device to end, without waiting for it.</summary>
    internal void End()
    {
        _ended = true;
        _inbox.Close();
        _bell.Ring();
    }

    private void Live()
    {
        _bell.EnterThread();
        try
        {
            _firmware.Boot();
            while (!_ended)
            {
                DoWhatIsDue();
                Hear();
                if (_ended) { break; }
                DoWhatIsDue();
                WaitForNext();
            }
            _inbox.Close();
        }
        finally { _bell.LeaveThread(); }
    }

    private void Hear()
    {
        int count;
        while (!_ended && (count = _inbox.Take(_heard, _host.Now)) > 0)
        {
            _protocol.Feed(_heard.AsSpan(0, count), _firmware);
            DoWhatIsDue();
        }
    }

    /// <summary>Hung or unplugged: hears and says nothing more. What was in the link already still arrives where it only hangs.</summary>
    private void MeetStop()
    {
        if (_firmware.Stop == DeviceStop.None || _stopMet) { return; }
        _stopMet = true;
        _inbox.Close();
        Forget();
        if (_firmware.Stop == DeviceStop.Hung) { return; }
        _link.Dispose();
        _ended = true;
    }

    private void Say(DeviceSaying saying, TimeSpan delay, MadeDecision? decision)
    {
        if (saying.Kind == SayingKind.Counters)
        {
            SayWhatIsDue();
            saying = saying with { Counters = saying.Counters with { Said = (uint)_said, Dropped = (uint)Dropped } };
        }
        _outbox.Add(
            _host.Now + delay, new(_message.AsSpan(0, _protocol.Encode(saying, _message)).ToArray(), decision, saying.IsCounted));
    }

    private long Dropped =>
        _outbox.Dropped + _onTheWay.Dropped + _firmware.DecisionsDropped + Interlocked.Read(ref _writesFailed);

    // What was due by now had left the chip before it stopped or restarted; what waits is lost with its memory.
    private void Forget()
    {
        SayWhatIsDue();
        _outbox.Clear();
    }

    private void DoWhatIsDue()
    {
        MeetStop();
        _firmware.Think();
        _firmware.Sense();
        MeetStop();
        SayWhatIsDue();
        while (!_ended && _onTheWay.TryPeek(out HostTime due) && due <= _host.Now) { Write(_onTheWay.Take()); }
    }

    private void SayWhatIsDue()
    {
        while (!_ended && _outbox.TryPeek(out HostTime due) && due <= _host.Now)
        {
            OutgoingBytes message = _outbox.Take();
            if (message.IsCounted) { _said++; }
            if (_linkOut.Active) { _onTheWay.Add(_linkOut.Arrival(_host.Now), message); }
            else { Write(message); }
        }
    }

    private void Write(in OutgoingBytes message)
    {
        ReadOnlySpan<byte> bytes = message.Bytes;
        if (_faults.Active)
        {
            int count = _faults.Apply(bytes, _damaged);
            bytes = _damaged.AsSpan(0, count);
            if (count == 0) { return; }
        }
        try
        {
            HostTime firstByte = _link.Write(bytes, WriteLimit);
            if (message.Decision is { } decision) { _observer?.OnSent(decision, firstByte); }
        }
        catch (LinkException e)
        {
            Interlocked.Increment(ref _writesFailed);
            if (e.Fault == LinkFault.Lost) { End(); }
        }
    }

    private void WaitForNext()
    {
        long? nextNs = null;
        void Consider(bool any, HostTime due) => nextNs = any ? Math.Min(nextNs ?? long.MaxValue, due.Ns) : nextNs;
        Consider(_firmware.TryPeekThought(out HostTime thought), thought);
        Consider(_firmware.TryPeekSample(out HostTime sample), sample);
        Consider(_outbox.TryPeek(out HostTime said), said);
        Consider(_onTheWay.TryPeek(out HostTime sent), sent);
        Consider(_inbox.TryPeek(out HostTime heard), heard);
        long? restNs = nextNs - _host.Now.Ns;
        if (restNs <= 0) { return; }
        // Looked at again now and then, for a host clock that a test sets.
        _bell.Wait(restNs is { } ns ? Math.Min(ns, LongestSleepNs) : null);
    }
}
