using System.Globalization;
using HilRunner.Core.Capture;
using HilRunner.Core.Links;
using HilRunner.Core.Messages;
using HilRunner.Core.Rigs;
using HilRunner.Core.Time;
using HilRunner.Engine.Pacing;
using HilRunner.Engine.Plans;

namespace HilRunner.Engine.Playing;

/// <summary>
/// The counterpart of <see cref="Playout"/> where nothing is injected: the device is recorded, or moved by hand. Keeps the device
/// streaming, asks its clock, polls it where it must be polled, and keeps what it says on disk.
/// </summary>
internal sealed class Listening(
    PlayPlan plan, Rig rig, IDeviceFormat format, ILink link, Conversation conversation, ICaptureWriter capture, HostClock clock,
    StampProbe? probe)
{
    private static readonly TimeSpan s_quiet = TimeSpan.FromMilliseconds(100);
    private static readonly TimeSpan s_longestQuiet = TimeSpan.FromSeconds(1);
    private static readonly TimeSpan s_look = TimeSpan.FromMilliseconds(50);
    private readonly ClockQuestions? _questions = ClockQuestions.For(rig.Device, format, capture, clock);
    private readonly byte[] _poll = rig.Device.Poll is { } poll ? format.Message(poll.Send) : [];
    private HostTime _nextPoll = clock.Now;

    private DeviceWriter Writer => field ??= new(link, capture, rig.Health.Silence, Silent);

    /// <exception cref="RunEndedException">It ended early: stopped, the link lost, or the device silent.</exception>
    public void Run(long listenNs)
    {
        if (plan.StreamOff.Length > 0)
        {
            // What was streamed for somebody else before is none of this.
            Send(plan.StreamOff);
            conversation.WaitQuiet(s_quiet, s_longestQuiet);
        }
        Step("begin");
        long booted = conversation.Heard(MessageKind.Booted);
        Send(plan.StreamOn);
        HostTime origin = clock.Now + TimeSpan.FromTicks(plan.Rate.TimeOf(plan.LeadSamples).Ns / 100);
        capture.Event(origin, RunEventNames.Origin, ("unix_ns", clock.ToUnixNs(origin).ToString(CultureInfo.InvariantCulture)));
        var end = new HostTime(origin.Ns + listenNs);
        var pacing = new PacingClock(clock, TimeSpan.Zero);
        pacing.EnterThread();
        try
        {
            var progress = (Samples: conversation.Heard(MessageKind.Sample), At: clock.Now);
            for (HostTime now = clock.Now; now < end; now = clock.Now)
            {
                conversation.ThrowIfOver();
                booted = KeepStreaming(booted);
                progress = CheckHeard(progress, now);
                if (_questions is not null && _questions.IsDue(long.MaxValue)) { Send(_questions.Next()); }
                SendPoll();
                if (probe is { IsDue: true }) { probe.Send(); }
                capture.Flush();
                HostTime next = now + s_look;
                pacing.WaitUntil(next < end ? next : end, () => conversation.IsOver);
            }
        }
        catch (RunEndedException ended) when (ended.Cause != EndCause.LinkLost)
        {
            EndStream();
            throw;
        }
        EndStream();
        capture.Event(
            clock.Now, RunEventNames.Paced,
            ("stamp_ns", probe?.Close(Playout.StampShare) is { } late ? late.ToString(CultureInfo.InvariantCulture) : ""));
    }

    /// <summary>A device that was reset has forgotten that it was asked to stream.</summary>
    private long KeepStreaming(long bootedBefore)
    {
        long booted = conversation.Heard(MessageKind.Booted);
        if (booted == bootedBefore || plan.StreamOn.Length == 0) { return booted; }
        Step("stream");
        Send(plan.StreamOn);
        return booted;
    }

    /// <summary>A device that must speak, and does not.</summary>
    private (long Samples, HostTime At) CheckHeard((long Samples, HostTime At) progress, HostTime now)
    {
        TimeSpan silence = rig.Health.Silence;
        long samples = conversation.Heard(MessageKind.Sample);
        if (plan.NeedsMeasured)
        {
            if (samples != progress.Samples) { return (samples, now); }
            if (now - progress.At <= silence.Ticks * 100) { return progress; }
            throw Silent(FormattableString.Invariant(
                $"the device said no sample for {silence.TotalSeconds:0.###} s ({samples} so far); check says.sample and hears.stream in the rig file"));
        }
        bool mustSpeak = rig.Device.StaleAfter is not null || rig.Device.Poll is not null;
        HostTime last = conversation.LastByte > progress.At ? conversation.LastByte : progress.At;
        return mustSpeak && now - last > silence.Ticks * 100
            ? throw Silent(FormattableString.Invariant($"the device said nothing for {silence.TotalSeconds:0.###} s"))
            : progress;
    }

    private RunEndedException Silent(string message)
    {
        capture.Event(clock.Now, RunEventNames.Silent, ("sent", "0"), ("message", message));
        return new(EndCause.Silent, message);
    }

    private void SendPoll()
    {
        if (_poll.Length == 0 || clock.Now < _nextPoll) { return; }
        Send(_poll);
        _nextPoll = clock.Now + rig.Device.Poll!.Every;
    }

    private void EndStream()
    {
        Step("end");
        Send(plan.StreamOff);
    }

    /// <summary>An empty message is one that the device does not have.</summary>
    private void Send(byte[] bytes)
    {
        if (bytes.Length > 0) { Writer.Send(bytes); }
    }

    private void Step(string step) => capture.Event(clock.Now, RunEventNames.Step, ("step", step));
}
