using HilRunner.Core.Links;
using HilRunner.Core.Models;
using HilRunner.Core.Time;
using HilRunner.Device.Protocols;

namespace HilRunner.Device;

/// <summary>What stopped the device for good.</summary>
internal enum DeviceStop { None, Hung, Unplugged }

/// <summary>
/// What the device does with each message: the part that a chip would hold. No thread, no link; it says things with a delay
/// and is told what it hears.
/// </summary>
/// <param name="say">Called with each thing to say and how long to hold it back.</param>
/// <param name="forget">Called at a reset: whatever has not been said yet is lost.</param>
internal sealed class Firmware(
    MotionModel model, VirtualDeviceOptions options, HostClock host, Action<DeviceSaying, TimeSpan> say, Action forget) : IDeviceEars
{
    private readonly ModelRunner _runner = new(model);
    private readonly DeviceClock _clock = new(host, options.ClockOffset, options.ClockSkewPpm);
    private readonly Dictionary<string, int> _codes = model.Classes.Select((name, code) => (name, code)).ToDictionary(c => c.name, c => c.code);
    private readonly int _creditEvery = Math.Max(1, options.CreditWindow / 4);
    private bool _running;
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

    /// <summary>A start, or a restart: nothing is known of what was before, and the banner is said.</summary>
    public void Boot()
    {
        forget();
        _clock.Restart();
        _running = false;
        ForgetRun();
        Boots++;
        say(new(SayingKind.Boot), TimeSpan.Zero);
    }

    public void OnBegin(long rateMilliHertz)
    {
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
        if (_runner.Push(n, counts, out ModelDecision decision)) { Report(decision); }
        GiveCredit();
        MeetFaults(n);
    }

    public void OnEnd()
    {
        if (_running && options.CreditWindow > 0 && _credited < _last) { SayCredit(); }
        _running = false;
    }

    public void OnIdentity() => say(new(SayingKind.Identity), TimeSpan.Zero);

    public void OnClock(uint token) => say(new(SayingKind.Clock) { Token = token, Microseconds = _clock.Microseconds }, TimeSpan.Zero);

    public void OnStatus()
    {
        DeviceSaying answer = _runner.Current is { } name
            ? Decision(_last, _codes[name], _runner.CurrentConfidence)
            : new(SayingKind.NoDecision);
        say(answer, TimeSpan.Zero);
    }

    public void OnReset() => Boot();

    public void OnRefused(Refusal why)
    {
        Refused++;
        say(new(SayingKind.Refusal) { Why = why }, TimeSpan.Zero);
    }

    private void ForgetRun()
    {
        _runner.Reset();
        _last = -1;
        _credited = -1;
        _sinceCredit = 0;
    }

    private void Report(ModelDecision decision)
    {
        Decisions++;
        say(Decision(decision.N, _codes[decision.Class], decision.Confidence), options.Delay);
    }

    private DeviceSaying Decision(long n, int code, double confidence) => new(SayingKind.Decision)
    {
        N = n,
        Class = code,
        PerMille = (int)Math.Round(confidence * 1000),
        Microseconds = _clock.Microseconds,
    };

    private void GiveCredit()
    {
        if (options.CreditWindow == 0 || ++_sinceCredit < _creditEvery) { return; }
        SayCredit();
    }

    private void SayCredit()
    {
        _sinceCredit = 0;
        _credited = _last;
        say(new(SayingKind.Credit) { N = _last }, options.SlowCredit);
    }

    private void MeetFaults(long n)
    {
        if (n == options.UnplugAt) { Stop = DeviceStop.Unplugged; }
        else if (n == options.HangAt) { Stop = DeviceStop.Hung; }
        else if (n == options.ResetAt) { Boot(); }
    }
}
