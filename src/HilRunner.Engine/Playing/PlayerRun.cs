using System.Globalization;
using HilRunner.Core.Capture;
using HilRunner.Core.Links;
using HilRunner.Core.Messages;
using HilRunner.Core.Rigs;
using HilRunner.Core.Runs;
using HilRunner.Core.Time;
using HilRunner.Engine.Plans;

namespace HilRunner.Engine.Playing;

/// <summary>
/// One run on an open link: what is said before playout (wake, reset, identity, clock), playout, and what is waited for after
/// it. Each step is an event in the capture, so that a reviewer of the capture knows what was asked when.
/// </summary>
public sealed class PlayerRun(
    PlayPlan plan, Rig rig, IDeviceFormat format, ILink link, Conversation conversation, ICaptureWriter capture, HostClock clock,
    StampProbe? probe = null)
{
    private const int ClockExchanges = 8;
    private const int IdentityTries = 3;
    private const int FewestDigits = 6;
    private const int CounterTries = 3;
    /// <summary>As many unanswered questions as make a silence.</summary>
    private const int QuestionsOfASilence = 5;
    private static readonly TimeSpan s_answer = TimeSpan.FromSeconds(1);
    private static readonly TimeSpan s_clockAnswer = TimeSpan.FromMilliseconds(500);
    private static readonly TimeSpan s_longestLinger = TimeSpan.FromSeconds(30);
    private readonly DeviceDescription _device = rig.Device;
    private readonly DeviceWriter _writer = new(link, capture, rig.Health.Silence, message => new(EndCause.NoAnswer, message));
    private ulong _token;
    private long _decisionsBefore;
    private bool _counts;
    private long _heardAtEnd;
    private IReadOnlyDictionary<string, string>? _beforeReset;

    /// <summary>Samples handed to the link.</summary>
    public int Sent { get; private set; }

    /// <exception cref="RunEndedException">The run ended before its end; a whole capture up to there is on disk.</exception>
    public void Run()
    {
        Prepare();
        conversation.ForgetCredit();
        _counts = plan.ListenNs is null && ReadCounters("before");
        if (_counts) { AskForCountersAgain(); }
        try { Play(); }
        catch (RunEndedException ended) when (ended.Cause == EndCause.Silent)
        {
            Revival.Try();
            throw;
        }
    }

    /// <summary>Asks a silent device again, after something was done to it while its link stayed open.</summary>
    /// <param name="by">What was done, a word of <see cref="RevivalBy"/>.</param>
    public void AskAfter(string by) => Revival.AskAfter(by);

    private Revival Revival => new(rig, format, _writer, conversation, capture, clock);

    private void Play()
    {
        _decisionsBefore = conversation.Heard(MessageKind.Decision);
        if (plan.ListenNs is { } listenNs)
        {
            new Listening(plan, rig, format, link, conversation, capture, clock, probe).Run(listenNs);
            ReadClock("after");
            return;
        }
        Step("begin");
        long heardBefore = conversation.HeardAll;
        Send(plan.Begin);
        using (var log = new PlayoutLog(Path.Combine(plan.Folder, RunFiles.Playout)))
        {
            var playout = new Playout(plan, rig, format, link, conversation, capture, log, clock, probe);
            try { playout.Run(); }
            finally { Sent = playout.Sent; }
        }
        Step("end");
        _heardAtEnd = conversation.HeardAll;
        Send(plan.End);
        Linger();
        bool tellsTime = ReadClock("after"), tellsCounts = _counts && ReadCounters("after", QuestionsOfASilence);
        // What says nothing after the end, not even when asked, may have stopped at any time since begin.
        bool mute = !tellsCounts && (!tellsTime || (conversation.HeardAll == _heardAtEnd && Revival.CanAsk));
        if (mute || conversation.HeardAll == heardBefore) { Revival.Try(); }
    }

    /// <summary>What is said before anything is played: wake, reset, identity, clock.</summary>
    /// <exception cref="RunEndedException">No answer, a lost link, or stopped.</exception>
    public void Prepare()
    {
        Wake();
        Reset();
        Identify();
        ReadClock("before");
    }

    /// <summary>After opening: many boards have just been reset by it and need a moment.</summary>
    /// <returns>Whether the rig says what to wait for.</returns>
    public bool AfterOpening()
    {
        var opened = _device.OnOpen;
        Step("opened");
        if (opened.Wait <= TimeSpan.Zero) { return false; }
        Await(opened.Until, 0, opened.Wait);
        return true;
    }

    /// <summary>Asks for the device's counters, without a run.</summary>
    /// <returns>Whether it answered.</returns>
    /// <exception cref="RunEndedException">The link was lost, or stopped.</exception>
    public bool AskCounters() => ReadCounters("check");

    /// <summary>Sends a message as it is.</summary>
    /// <exception cref="RunEndedException">The link was lost, or the device did not accept it.</exception>
    internal void SendNow(byte[] message) => Send(message);

    /// <summary>
    /// A device with two images says which slot runs: asked before the reset, too, so that one that falls back to its other image by it is found. Its image was not confirmed.
    /// </summary>
    /// <exception cref="RunEndedException">No answer, a lost link, or stopped.</exception>
    public void BeforeFirstReset()
    {
        if (rig.BeforeEach is null || _device.Identity is not { } identity || !identity.Answer.Names.Contains("slot")) { return; }
        Wake();
        Identify();
        _beforeReset = conversation.Identity;
    }

    private void Wake()
    {
        if (_device.Wake is not { } wake) { return; }
        Step("wake");
        Send(format.Message(wake.Send));
        Flush();
        conversation.Pass(wake.Delay);
    }

    private void Reset()
    {
        if (rig.BeforeEach is not { } reset) { return; }
        Step("reset");
        long before = reset.Until is { } name ? conversation.Heard(KindOf(name)) : 0;
        Send(format.Message(reset.Send));
        if (reset.Wait > TimeSpan.Zero) { Await(reset.Until, before, reset.Wait); }
    }

    private void Identify()
    {
        if (_device.Identity is not { } identity) { return; }
        for (int attempt = 1; attempt <= IdentityTries; attempt++)
        {
            long before = conversation.Heard(MessageKind.Identity);
            Step("identity");
            Send(format.Message(identity.Ask));
            Flush();
            if (!conversation.WaitFor(MessageKind.Identity, before, s_answer)) { continue; }
            CheckSlot();
            CheckBuild();
            return;
        }
        throw new RunEndedException(
            EndCause.NoAnswer,
            $"no answer to the identity question in {IdentityTries} tries; check wiring, speed and the pattern device.identity.answer");
    }

    private void CheckSlot()
    {
        if (_beforeReset is not { } before) { return; }
        foreach (string group in (string[])["slot", "version", "image"])
        {
            string was = before.GetValueOrDefault(group, "nothing"), now = conversation.Identity.GetValueOrDefault(group, "nothing");
            if (was == now) { continue; }
            string confirmed = before.TryGetValue("confirmed", out string? said) ? $" (confirmed: {said})" : "";
            throw new RunEndedException(EndCause.WrongBuild, $"the device said {group} {was}{confirmed} before a reset and {group} {now} after it: it fell back to its other image; nothing was played: was the new one confirmed?");
        }
    }

    private void CheckBuild()
    {
        foreach (var (group, expected) in plan.Expected)
        {
            string? said = conversation.Identity.GetValueOrDefault(group);
            bool same = group == "image"
                ? said is { Length: >= FewestDigits } && expected.StartsWith(said, StringComparison.OrdinalIgnoreCase)
                : said == expected;
            if (same) { continue; }
            string shown = group == "image" ? expected[..Math.Min(expected.Length, Math.Max(said?.Length ?? 0, 12))] : expected;
            throw new RunEndedException(EndCause.WrongBuild, $"the device says {group} {said ?? "nothing"}, expected {shown}; nothing was played: was it flashed, and is it the right board?");
        }
    }

    /// <summary>
    /// A device that is asked nothing in mid-run is asked for its counters some times more: one answer before it would not show
    /// that the link brings answers, and a silence after it could not be told from a loss.
    /// </summary>
    private void AskForCountersAgain()
    {
        bool askedInMidRun = _device.Clock?.Every > TimeSpan.Zero;
        for (int i = 1; !askedInMidRun && i < ClockExchanges && ReadCounters("before", tries: 1); i++) { }
    }

    /// <returns>Whether it answered. A device that did not before the run is not asked after it.</returns>
    private bool ReadCounters(string when, int tries = CounterTries)
    {
        if (_device.Says.Counters is not { } query) { return false; }
        for (int attempt = 0; attempt < (conversation.AnswersNoCounters ? 1 : tries); attempt++)
        {
            long before = conversation.Heard(MessageKind.Counters);
            capture.Event(clock.Now, RunEventNames.Step, ("step", "counters"), ("when", when));
            Send(format.Message(query.Ask));
            Flush();
            if (!conversation.WaitFor(MessageKind.Counters, before, s_answer)) { continue; }
            // The answer to the question before may only have been late: then this one's own is still to come.
            if (attempt > 0) { conversation.WaitFor(MessageKind.Counters, before + 1, s_answer); }
            return true;
        }
        conversation.AnswersNoCounters = conversation.Heard(MessageKind.Counters) == 0;
        return false;
    }

    /// <returns>
    /// False where the device, which answers in mid-run, left so many questions unanswered that it may have fallen silent.
    /// </returns>
    private bool ReadClock(string when)
    {
        if (_device.Clock is not { } query) { return true; }
        int unanswered = 0;
        for (int i = 0; i < ClockExchanges; i++)
        {
            long before = conversation.Heard(MessageKind.Clock);
            ulong token = ++_token;
            byte[] question = format.Message(query.Ask, token);
            ClockQuestions.Record(capture, clock, when, token.ToString(CultureInfo.InvariantCulture));
            Send(question);
            Flush();
            if (conversation.WaitFor(MessageKind.Clock, before, s_clockAnswer))
            {
                unanswered = 0;
                continue;
            }
            // A device that answers in mid-run and does not now may have fallen silent: so many questions show it.
            if (when == "before" || query.Every <= TimeSpan.Zero) { return true; }
            if (++unanswered == QuestionsOfASilence) { return false; }
        }
        return unanswered == 0;
    }

    /// <summary>Gives the device time to consume what is on the way and to say what it makes of it.</summary>
    private void Linger()
    {
        Flush();
        // A device that still spoke after the end is not silent: what its credit lacks did not reach it.
        if (_device.Says.Credit is not null && !conversation.WaitConsumed(plan.SampleCount - 1, rig.Health.Silence)
            && conversation.HeardAll == _heardAtEnd)
        {
            long consumed = conversation.Consumed + 1;
            capture.Event(
                clock.Now, RunEventNames.CreditStarved, ("sent", plan.SampleCount.ToString(CultureInfo.InvariantCulture)),
                ("consumed", consumed.ToString(CultureInfo.InvariantCulture)));
            throw new RunEndedException(
                EndCause.Silent, $"all {plan.SampleCount} samples were sent, {consumed} were consumed, then nothing more");
        }
        // A slow device may still be at its first decision: as long as it has said none, it may take what a silence may take.
        if (conversation.Heard(MessageKind.Decision) == _decisionsBefore)
        {
            conversation.WaitFor(MessageKind.Decision, _decisionsBefore, rig.Health.Silence);
        }
        conversation.WaitQuiet(_device.Quiet, s_longestLinger);
    }

    private void Await(string? message, long heardBefore, TimeSpan limit)
    {
        Flush();
        if (message is null) { conversation.Pass(limit); }
        else { conversation.WaitFor(KindOf(message), heardBefore, limit); }
    }

    /// <summary>An empty message is one that the device does not have.</summary>
    private void Send(byte[] bytes)
    {
        if (bytes.Length > 0) { _writer.Send(bytes); }
    }

    private void Step(string step) => capture.Event(clock.Now, RunEventNames.Step, ("step", step));

    private void Flush() => capture.Flush();

    private static MessageKind KindOf(string name) => name switch
    {
        "booted" => MessageKind.Booted,
        "credit" => MessageKind.Credit,
        "identity" => MessageKind.Identity,
        "sample" => MessageKind.Sample,
        "clock" => MessageKind.Clock,
        _ => MessageKind.Decision,
    };
}
