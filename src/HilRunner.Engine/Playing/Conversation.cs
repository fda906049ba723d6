using HilRunner.Core.Capture;
using HilRunner.Core.Links;
using HilRunner.Core.Messages;
using HilRunner.Core.Time;

namespace HilRunner.Engine.Playing;

/// <summary>
/// What the player hears and says. Every byte goes into the capture first; then the few messages that steer playout (credit,
/// banner, answers) are picked out. Bytes between two runs are kept, bounded, for the next run's capture.
/// </summary>
public sealed class Conversation : ILinkReceiver, IMessageSink, IDisposable
{
    private const int MostKeptBetweenRuns = 65_536;
    private readonly Lock _captureGate = new();
    private readonly object _gate = new();
    private readonly HostClock _clock;
    private readonly IDeviceDecoder _decoder;
    private readonly List<(HostTime At, byte[] Bytes)> _kept = [];
    private readonly long[] _heard = new long[Enum.GetValues<MessageKind>().Length];
    private IReadOnlyDictionary<string, string> _identity = new Dictionary<string, string>();
    private int _keptBytes;
    private ICaptureWriter? _capture;
    private LinkException? _lost;
    private IOException? _captureFault;
    private bool _stopped;
    private long _consumed = -1;
    private long _sent;
    private long _heardAll;
    private HostTime _lastByte;
    private HostTime _lastCredit;

    private readonly int _samplesPerMessage;

    /// <param name="samplesPerMessage">The number of a message stands for its last sample, also where the last one holds
    /// fewer.</param>
    public Conversation(HostClock clock, IDeviceDecoder decoder, int samplesPerMessage = 1)
    {
        _clock = clock;
        _samplesPerMessage = samplesPerMessage;
        _decoder = decoder;
        _lastByte = clock.Now;
    }

    /// <summary>The highest sample number that the device says it has consumed in this run; −1: none.</summary>
    public long Consumed { get { lock (_gate) { return _consumed; } } }

    /// <summary>The device was asked for its counters and never answered: it is asked once a run from then on.</summary>
    public bool AnswersNoCounters { get; set; }

    /// <summary>What the device answered last when it was asked who it is.</summary>
    public IReadOnlyDictionary<string, string> Identity { get { lock (_gate) { return _identity; } } }

    /// <summary>
    /// Samples handed to the link in this run, or about to be: what the numbers of a device that wraps are read by.
    /// </summary>
    public long Sent { set { Volatile.Write(ref _sent, value); } }

    /// <summary>Messages of any kind that were understood so far.</summary>
    public long HeardAll { get { lock (_gate) { return _heardAll; } } }

    public bool IsLost { get { lock (_gate) { return _lost is not null; } } }

    public HostTime LastByte { get { lock (_gate) { return _lastByte; } } }

    /// <summary>Starts a run: from here on bytes go to <paramref name="capture"/>, those kept since the last run first.</summary>
    public void Begin(ICaptureWriter capture)
    {
        lock (_captureGate)
        {
            foreach (var (at, bytes) in _kept) { capture.Bytes(CaptureKind.FromDevice, at, bytes); }
            _kept.Clear();
            _keptBytes = 0;
            _capture = capture;
        }
    }

    /// <summary>Forgets credit of what was played before; called right before the begin message.</summary>
    public void ForgetCredit()
    {
        lock (_gate)
        {
            _consumed = -1;
            Volatile.Write(ref _sent, 0);
            _lastCredit = _clock.Now;
        }
    }

    public void End()
    {
        lock (_captureGate) { _capture = null; }
    }

    public void Stop()
    {
        lock (_gate)
        {
            _stopped = true;
            Monitor.PulseAll(_gate);
        }
    }

    public void OnReceived(ReadOnlySpan<byte> bytes, HostTime arrival)
    {
        lock (_captureGate)
        {
            try
            {
                if (_capture is not null) { _capture.Bytes(CaptureKind.FromDevice, arrival, bytes); }
                else if (_keptBytes + bytes.Length <= MostKeptBetweenRuns)
                {
                    _kept.Add((arrival, bytes.ToArray()));
                    _keptBytes += bytes.Length;
                }
            }
            catch (IOException fault) { _captureFault = fault; }
        }
        lock (_gate) { _lastByte = arrival; }
        _decoder.Feed(bytes, arrival, this);
    }

    public void OnLost(LinkException cause, HostTime at)
    {
        lock (_captureGate)
        {
            try { _capture?.Event(at, RunEventNames.LinkLost, ("cause", cause.Fault.ToString()), ("message", cause.Message)); }
            catch (IOException fault) { _captureFault = fault; }
        }
        lock (_gate)
        {
            _lost = cause;
            Monitor.PulseAll(_gate);
        }
    }

    public void OnMessage(in DeviceMessage message)
    {
        lock (_gate)
        {
            _heard[(int)message.Kind]++;
            _heardAll++;
            if (message.Kind == MessageKind.Identity && message.Fields is { } fields) { _identity = new Dictionary<string, string>(fields, StringComparer.Ordinal); }
            if (message.Kind == MessageKind.Credit && message.N is { } n
                && WrappedNumber.Sample(n, message.NWraps, Volatile.Read(ref _sent)) is var consumed && consumed > _consumed
                && consumed < Volatile.Read(ref _sent) + _samplesPerMessage - 1)
            {
                // Credit for what was not sent yet is garbled: it would let samples run ahead of the device.
                _consumed = consumed;
                _lastCredit = message.LastByte;
            }
            Monitor.PulseAll(_gate);
        }
    }

    /// <summary>How many messages of this kind were heard so far; to be given to <see cref="WaitFor"/>.</summary>
    public long Heard(MessageKind kind) { lock (_gate) { return _heard[(int)kind]; } }

    /// <summary>Waits until another message of this kind than the <paramref name="heardBefore"/> ones comes.</summary>
    /// <returns>False when the limit passed first.</returns>
    /// <exception cref="RunEndedException">The link was lost, or the run was stopped.</exception>
    public bool WaitFor(MessageKind kind, long heardBefore, TimeSpan limit)
    {
        lock (_gate) { return Wait(() => _heard[(int)kind] > heardBefore, _clock.Now + limit); }
    }

    /// <summary>Waits until more messages than <paramref name="heardBefore"/> were understood.</summary>
    /// <returns>False when the limit passed first.</returns>
    /// <exception cref="RunEndedException">The link was lost, or the run was stopped.</exception>
    public bool WaitForAny(long heardBefore, TimeSpan limit)
    {
        lock (_gate) { return Wait(() => _heardAll > heardBefore, _clock.Now + limit); }
    }

    /// <summary>Waits; ends early only when the link is lost or the run stopped.</summary>
    public void Pass(TimeSpan time)
    {
        lock (_gate) { Wait(() => false, _clock.Now + time); }
    }

    /// <summary>
    /// Waits until the device has consumed sample <paramref name="n"/>. The limit counts from its last sign of progress.
    /// </summary>
    /// <returns>False when it made no progress for <paramref name="limit"/>.</returns>
    public bool WaitConsumed(long n, TimeSpan limit)
    {
        lock (_gate)
        {
            HostTime begun = _clock.Now;
            while (_consumed < n)
            {
                HostTime since = _lastCredit > begun ? _lastCredit : begun;
                long before = _consumed;
                if (!Wait(() => _consumed > before, since + limit)) { return false; }
            }
            return true;
        }
    }

    /// <summary>Waits until nothing was received for <paramref name="quiet"/>, at most <paramref name="limit"/> in all.</summary>
    public void WaitQuiet(TimeSpan quiet, TimeSpan limit)
    {
        lock (_gate)
        {
            HostTime begun = _clock.Now;
            for (HostTime now = begun; now < begun + limit; now = _clock.Now)
            {
                HostTime since = _lastByte > begun ? _lastByte : begun;
                HostTime until = since + quiet;
                if (now >= until) { return; }
                Wait(() => false, until < begun + limit ? until : begun + limit);
            }
        }
    }

    /// <exception cref="RunEndedException">The link was lost, the run stopped, or the capture failed.</exception>
    public void ThrowIfOver()
    {
        if (_captureFault is { } fault)
        {
            throw new RunEndedException(EndCause.CaptureFailed, $"the capture could not be written: {fault.Message}");
        }
        lock (_gate)
        {
            if (_stopped) { throw new RunEndedException(EndCause.Stopped, "stopped by the parent"); }
            if (_lost is { } lost) { throw new RunEndedException(EndCause.LinkLost, lost.Message); }
        }
    }

    public bool IsOver
    {
        get { lock (_gate) { return _stopped || _lost is not null; } }
    }

    public void Dispose() => _decoder.Dispose();

    /// <summary>Under the gate.</summary>
    private bool Wait(Func<bool> condition, HostTime until)
    {
        while (true)
        {
            ThrowIfOver();
            if (condition()) { return true; }
            long leftNs = until - _clock.Now;
            if (leftNs <= 0) { return false; }
            Monitor.Wait(_gate, TimeSpan.FromMilliseconds(Math.Min(1000, leftNs / 1_000_000 + 1)));
        }
    }
}
