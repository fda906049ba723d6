using HilRunner.Core.Capture;
using HilRunner.Core.Links;
using HilRunner.Core.Messages;
using HilRunner.Core.Rigs;
using HilRunner.Core.Time;
using HilRunner.Engine.Pacing;
using HilRunner.Engine.Plans;

namespace HilRunner.Engine.Playing;

/// <summary>
/// Sends the frames of one plan: on an absolute schedule, or as the device's credit (without credit: its link) takes them. Runs on the pacing thread. In
/// steady state it allocates nothing.
/// </summary>
public sealed class Playout
{
    /// <summary>Frames sent at once at speed max are gathered up to this many bytes.</summary>
    private const int MostGathered = 2048;
    private static readonly TimeSpan s_spin = TimeSpan.FromTicks(2000);
    internal const double StampShare = 0.995;
    private const long ShortestSpunPeriodNs = 1_000_000;

    private readonly PlayPlan _plan;
    private readonly DeviceDescription _device;
    private readonly TimeSpan _silence;
    private readonly DeviceWriter _writer;
    private readonly Conversation _conversation;
    private readonly ICaptureWriter _capture;
    private readonly PlayoutLog _log;
    private readonly HostClock _clock;
    private readonly byte[] _poll;
    private readonly ClockQuestions? _questions;
    private readonly StampProbe? _probe;
    private HostTime _nextPoll;
    private long _creditWaits;
    private long _creditWaitNs;

    public Playout(
        PlayPlan plan, Rig rig, IDeviceFormat format, ILink link, Conversation conversation, ICaptureWriter capture,
        PlayoutLog log, HostClock clock, StampProbe? probe)
    {
        _probe = probe;
        _plan = plan;
        _device = rig.Device;
        _silence = rig.Health.Silence;
        _writer = new(link, capture, _silence, Silent);
        _conversation = conversation;
        _capture = capture;
        _log = log;
        _clock = clock;
        _questions = ClockQuestions.For(_device, format, capture, clock);
        _poll = _device.Poll is { } poll ? format.Message(poll.Send) : [];
    }

    /// <summary>Samples handed to the link so far.</summary>
    public int Sent { get; private set; }

    private bool HasCredit => _device.Says.Credit is not null;

    /// <exception cref="RunEndedException">The run ended early; <see cref="Sent"/> says how far it came.</exception>
    public void Run()
    {
        Action play = _plan.Speed is null ? PlayAsTaken : PlayOnSchedule;
        play();
        _log.Flush();
        _capture.Flush();
    }

    private void PlayOnSchedule()
    {
        long periodNs = _plan.FrameEnds.Length > 1 ? _plan.DueNs(1) - _plan.DueNs(0) : ShortestSpunPeriodNs;
        var pacing = new PacingClock(_clock, periodNs >= ShortestSpunPeriodNs ? s_spin : TimeSpan.Zero);
        pacing.EnterThread();
        _probe?.Send();
        HostTime start = _clock.Now + TimeSpan.FromMilliseconds(2);
        HostTime origin = new(start.Ns + (long)decimal.Round(_plan.Rate.TimeOf(_plan.LeadSamples).Ns / _plan.Speed!.Value));
        TellOrigin(origin);
        _nextPoll = start;
        Func<bool> over = () => _conversation.IsOver;
        for (int frame = 0; frame < _plan.FrameEnds.Length; frame++)
        {
            HostTime due = new(start.Ns + _plan.DueNs(frame));
            if (due - _clock.Now > 2_000_000) { Flush(); }
            while (_poll.Length > 0 && _nextPoll < due)
            {
                pacing.WaitUntil(_nextPoll, over);
                SendPoll();
            }
            pacing.WaitUntil(due, over);
            CheckHeard(start);
            var (first, end) = _plan.SamplesOf(frame);
            AwaitCredit(end - 1);
            _conversation.Sent = end;
            HostTime sent = _writer.Send(_plan.Frame(frame).Span);
            for (int sample = first; sample < end; sample++)
            {
                _log.Append(new(sample - _plan.LeadSamples, due - origin, sent - origin));
            }
            Sent = end;
            if (frame + 1 < _plan.FrameEnds.Length)
            {
                long nextNs = start.Ns + _plan.DueNs(frame + 1);
                MeasureBetween(_poll.Length > 0 ? Math.Min(nextNs, _nextPoll.Ns) : nextNs, pacing, over);
            }
        }
        _capture.Event(
            _clock.Now, RunEventNames.Paced, ("stamp_ns", _probe?.Close(StampShare) is { } late ? Number(late) : ""),
            ("credit_waits", Number(_creditWaits)), ("credit_wait_ns", Number(_creditWaitNs)));
    }

    /// <summary>Before the next sample or poll: the device's clock and the host's stamps are looked at, one of them and only where there is time.</summary>
    private void MeasureBetween(long nextNs, PacingClock pacing, Func<bool> over)
    {
        if (_questions is not null && _questions.IsDue(nextNs)) { _writer.Send(_questions.Next()); }
        else if (_probe?.MomentBefore(nextNs) is { } moment)
        {
            pacing.WaitUntil(moment, over);
            _probe.Send();
        }
    }

    private void PlayAsTaken()
    {
        HostTime origin = _clock.Now;
        TellOrigin(origin);
        _nextPoll = origin;
        int frame = 0;
        while (frame < _plan.FrameEnds.Length)
        {
            int from = frame;
            AwaitCredit(_plan.SamplesOf(frame).End - 1);
            long permitted = HasCredit ? _conversation.Consumed + _device.CreditWindow : long.MaxValue;
            int startByte = from == 0 ? 0 : _plan.FrameEnds[from - 1];
            do { frame++; }
            while (frame < _plan.FrameEnds.Length
                && _plan.SamplesOf(frame).End - 1 <= permitted
                && _plan.FrameEnds[frame] - startByte <= MostGathered);
            if (_poll.Length > 0 && _nextPoll <= _clock.Now) { SendPoll(); }
            int end = _plan.SamplesOf(frame - 1).End;
            _conversation.Sent = end;
            HostTime sent = _writer.Send(_plan.Frames.AsSpan(startByte, _plan.FrameEnds[frame - 1] - startByte));
            for (int sample = _plan.SamplesOf(from).First; sample < end; sample++)
            {
                _log.Append(new(sample - _plan.LeadSamples, null, sent - origin));
            }
            Sent = end;
        }
    }

    /// <summary>Holds back while the device could not take sample <paramref name="last"/>.</summary>
    private void AwaitCredit(int last)
    {
        _conversation.ThrowIfOver();
        if (!HasCredit || last - _conversation.Consumed <= _device.CreditWindow) { return; }
        Flush();
        HostTime since = _clock.Now;
        if (_conversation.WaitConsumed(last - _device.CreditWindow, _silence))
        {
            _creditWaits++;
            _creditWaitNs += _clock.Now - since;
            return;
        }
        long consumed = _conversation.Consumed;
        _capture.Event(_clock.Now, RunEventNames.CreditStarved, ("sent", Number(Sent)), ("consumed", Number(consumed + 1)));
        throw new RunEndedException(
            EndCause.Silent,
            $"the device gave no credit for {_silence.TotalSeconds:0.###} s: {Sent} samples sent, {consumed + 1} consumed");
    }

    /// <summary>A device that must speak of itself (it reports every window, or it is polled) and does not.</summary>
    private void CheckHeard(HostTime start)
    {
        if (_device.StaleAfter is null && _device.Poll is null) { return; }
        HostTime last = _conversation.LastByte;
        HostTime since = last > start ? last : start;
        if (_clock.Now - since <= _silence.Ticks * 100) { return; }
        throw Silent($"the device said nothing for {_silence.TotalSeconds:0.###} s");
    }

    private void SendPoll()
    {
        _writer.Send(_poll);
        HostTime next = _nextPoll + _device.Poll!.Every;
        _nextPoll = next < _clock.Now ? _clock.Now : next;
    }

    private RunEndedException Silent(string message)
    {
        _capture.Event(_clock.Now, RunEventNames.Silent, ("sent", Number(Sent)), ("message", message));
        return new(EndCause.Silent, message);
    }

    private void TellOrigin(HostTime origin) =>
        _capture.Event(origin, RunEventNames.Origin, ("unix_ns", Number(_clock.ToUnixNs(origin))));

    private void Flush()
    {
        _log.Flush();
        _capture.Flush();
    }

    private static string Number(long value) => value.ToString(System.Globalization.CultureInfo.InvariantCulture);
}
