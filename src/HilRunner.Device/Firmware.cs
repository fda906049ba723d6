using HilRunner.Core.Links;
using HilRunner.Core.Models;
using HilRunner.Core.Numerics;
using HilRunner.Core.Time;
using HilRunner.Device.Protocols;

namespace HilRunner.Device;

/// <summary>What stopped the device for good.</summary>
internal enum DeviceStop { None, Hung, Unplugged }

/// <summary>
/// What the device does with each message: the part that a chip would hold. No thread, no link; it says things with a delay
/// and is told what it hears.
/// </summary>
/// <param name="say">Called with each thing to say, how long to hold it back, and the decision that it reports, if any.</param>
/// <param name="forget">Called at a reset: whatever has not been said yet is lost.</param>
/// <param name="observer">Null: nobody looks.</param>
/// <param name="sensor">What it feels itself.</param>
internal sealed class Firmware(
    MotionModel model, VirtualDeviceOptions options, HostClock host, Action<DeviceSaying, TimeSpan, MadeDecision?> say, Action forget,
    IDeviceObserver? observer, Sensor sensor) : IDeviceEars
{
    private const int MostThoughts = 4_096;

    private readonly ModelRunner _runner = new(model);
    private readonly DeviceClock _clock = new(host, options.ClockOffset, options.ClockSkewPpm);
    private readonly Dictionary<string, int> _codes = model.Classes.Select((name, code) => (name, code)).ToDictionary(c => c.name, c => c.code);
    private readonly int _creditEvery = Math.Max(1, options.CreditWindow / 4);
    private readonly Thoughts _thoughts = new(MostThoughts);
    // A seed of its own: what is lost of answers does not depend on what is damaged of bytes.
    private Xoshiro256 _answers = new(~options.Seed);
    private readonly int[] _felt = new int[model.Channels.Count];
    private readonly IReadOnlyList<Feature> _asked = model.Features;
    private readonly int[] _features = new int[model.Features.Count];
    private HostTime _sensesSince;
    private long _feltNext;
    private bool _senses;
    private bool _streams;
    private bool _running;
    private string? _class;
    private double _confidence;
    private long _last = -1;
    private long _credited = -1;
    private int _sinceCredit;

    public DeviceStop Stop { get; private set; }
    public bool Listening => Stop == DeviceStop.None;
    public long Consumed { get; private set; }
    public long Ignored { get; private set; }
    public long Refused { get; private set; }
    public long Decisions { get; private set; }
    public long Boots { get; private set; }
    public long AnswersLost { get; private set; }
    public long Measured { get; private set; }
    /// <summary>Decisions that were never made: it was thinking about too many.</summary>
    public long DecisionsDropped => _thoughts.Dropped;

    /// <summary>False when it is thinking about nothing; otherwise when the next decision is to be made.</summary>
    public bool TryPeekThought(out HostTime due) => _thoughts.TryPeek(out due);

    /// <summary>Makes the decisions that are due.</summary>
    public void Think()
    {
        while (_thoughts.TryPeek(out HostTime due) && due <= host.Now) { Decide(_thoughts.Take()); }
    }

    /// <summary>False when its own sensor is off; otherwise when the next sample is measured.</summary>
    public bool TryPeekSample(out HostTime due)
    {
        due = _sensesSince + sensor.TimeOf(_feltNext);
        return _senses && Listening;
    }

    /// <summary>Measures what is due, classifies it, and says it where it was asked to.</summary>
    public void Sense()
    {
        while (TryPeekSample(out HostTime due) && due <= host.Now)
        {
            long n = _feltNext++;
            sensor.Feel(_felt, due);
            Measured++;
            _last = n;
            if (_streams) { SayNow(new(SayingKind.Measured) { N = n, Counts = _felt }); }
            Classify(n, _felt);
            MeetFaults(n);
        }
    }

    /// <summary>A start, or a restart: nothing is known of what was before, and the banner is said.</summary>
    public void Boot()
    {
        Think();
        forget();
        _clock.Restart();
        _running = false;
        ForgetRun();
        Boots++;
        SayNow(new(SayingKind.Boot));
        StartSensing(options.Senses, stream: false);
    }

    public void OnStream(bool on)
    {
        _running = false;
        ForgetRun();
        StartSensing(on || options.Senses, on);
    }

    public void OnBegin(long rateMilliHertz)
    {
        Think();
        StartSensing(false, stream: false);
        _running = rateMilliHertz == model.Rate.MilliHertz;
        ForgetRun();
        if (!_running) { OnRefused(Refusal.Rate); }
    }

    public void OnSample(long n, ReadOnlySpan<int> counts)
    {
        if (!_running)
        {
            Ignored++;
            return;
        }
        if (n <= _last)
        {
            OnRefused(Refusal.Order);
            return;
        }
        _last = n;
        Consumed++;
        observer?.OnConsumed(n, host.Now);
        if (options.Reports == DeviceReports.Samples) { SayNow(new(SayingKind.Measured) { N = n, Counts = counts.ToArray() }); }
        Classify(n, counts);
        GiveCredit();
        MeetFaults(n);
    }

    public void OnEnd()
    {
        if (_running && options.CreditWindow > 0 && _credited < _last) { SayCredit(); }
        _running = false;
        if (options.Senses && !_senses)
        {
            ForgetRun();
            StartSensing(true, stream: false);
        }
    }

    public void OnIdentity() => SayNow(new(SayingKind.Identity));

    public void OnClock(uint token)
    {
        if (options.LoseAnswers > 0 && _answers.NextShare() < options.LoseAnswers)
        {
            AnswersLost++;
            return;
        }
        SayNow(new(SayingKind.Clock) { Token = token, Microseconds = _clock.Microseconds(host.Now) });
    }

    public void OnStatus()
    {
        // What was due before the question came is part of the answer, even where both are found at one waking.
        Think();
        SayNow(_class is { } name
            ? Saying(new(_last, name, _confidence, IsEvent: false), _clock.Microseconds(host.Now))
            : new(SayingKind.NoDecision));
    }

    public void OnCounters()
    {
        // What was due before the question came is said before the answer.
        Think();
        SayNow(new(SayingKind.Counters) { Counters = ((uint)Consumed, (uint)Refused, 0, 0) });
    }

    public void OnReset() => Boot();

    public void OnRefused(Refusal why)
    {
        Refused++;
        SayNow(new(SayingKind.Refusal) { Why = why });
    }

    private void ForgetRun()
    {
        _runner.Reset();
        _thoughts.Clear();
        _class = null;
        _last = -1;
        _credited = -1;
        _sinceCredit = 0;
    }

    private void StartSensing(bool on, bool stream)
    {
        (_senses, _streams, _feltNext, _sensesSince) = (on, stream, 0, host.Now);
        sensor.Restart();
    }

    private void Classify(long n, ReadOnlySpan<int> counts)
    {
        bool decided = _runner.Push(n, counts, out ModelDecision decision);
        if (options.Reports == DeviceReports.Features && _runner.Looked && !(decided && decision.IsEvent)) { SayFeatures(n); }
        if (!decided) { return; }
        if (options.Think > TimeSpan.Zero) { _thoughts.Add(host.Now + options.Think, decision); }
        else { Decide(decision); }
    }

    private void SayFeatures(long n)
    {
        for (int i = 0; i < _asked.Count; i++) { _features[i] = _runner.Value(_asked[i]); }
        SayNow(new(SayingKind.Features) { N = n, Counts = _features });
    }

    private void Decide(in ModelDecision decision)
    {
        Decisions++;
        if (!decision.IsEvent) { (_class, _confidence) = (decision.Class, decision.Confidence); }
        HostTime now = host.Now;
        MadeDecision made = new(decision.N, decision.Class, now, _clock.Microseconds(now));
        observer?.OnDecided(made);
        say(Saying(decision, made.Microseconds), options.Delay, made);
    }

    private DeviceSaying Saying(in ModelDecision decision, uint microseconds) => new(SayingKind.Decision)
    {
        N = decision.N,
        Class = _codes[decision.Class],
        PerMille = (int)Math.Round(decision.Confidence * 1000),
        Microseconds = microseconds,
    };

    private void SayNow(in DeviceSaying saying) => say(saying, TimeSpan.Zero, null);

    private void GiveCredit()
    {
        if (options.CreditWindow == 0 || ++_sinceCredit < _creditEvery) { return; }
        SayCredit();
    }

    private void SayCredit()
    {
        _sinceCredit = 0;
        _credited = _last;
        say(new(SayingKind.Credit) { N = _last }, options.SlowCredit, null);
    }

    private void MeetFaults(long n)
    {
        if (n == options.UnplugAt) { Halt(DeviceStop.Unplugged); }
        else if (n == options.HangAt) { Halt(DeviceStop.Hung); }
        else if (n == options.ResetAt) { Boot(); }
    }

    private void Halt(DeviceStop why)
    {
        Think();
        _thoughts.Clear();
        Stop = why;
    }
}
