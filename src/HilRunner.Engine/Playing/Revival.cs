using HilRunner.Core.Capture;
using HilRunner.Core.Messages;
using HilRunner.Core.Rigs;
using HilRunner.Core.Time;

namespace HilRunner.Engine.Playing;

/// <summary>
/// Asks a silent device again, on the link that was open all the time: as it is, and after its reset message. An answer after a
/// reset alone shows that the link was there and the silence was the device's.
/// </summary>
internal sealed class Revival(
    Rig rig, IDeviceFormat format, DeviceWriter writer, Conversation conversation, ICaptureWriter capture, HostClock clock)
{
    /// <summary>
    /// After eight answers before the run as many unanswered questions are explained by a loss less than once in a million
    /// (0.31 to the twelfth, the exact upper bound at 95 % for none of eight), and some more for answers that did get lost.
    /// </summary>
    private const int Tries = 14;
    private const int TriesAfterReset = 3;
    private static readonly TimeSpan s_wait = TimeSpan.FromMilliseconds(300);
    private static readonly TimeSpan s_answer = TimeSpan.FromSeconds(1);
    /// <summary>Fits a byte; no other question is on its way then.</summary>
    private ulong _token = 200;

    /// <summary>Never throws for what happens on the link: the run has ended already.</summary>
    public void Try()
    {
        try
        {
            if (CanAsk && Answers(Tries, s_wait, step: "ask"))
            {
                // It may be alive and have stopped to take samples: its own counts say whether anything was lost on the way.
                if (rig.Device.Says.Counters is { } query) { Heard(format.Message(query.Ask), s_answer); }
                Tell(RevivalBy.Waiting, answered: true);
                return;
            }
            if (CanAsk) { Tell(RevivalBy.Waiting, answered: false); }
            if (rig.BeforeEach is { } reset) { Reset(reset); }
        }
        catch (RunEndedException)
        {
            // The link was lost or the run stopped: nothing is known, as before.
        }
    }

    /// <summary>Asks after something was done to the device from outside, such as a power cycle.</summary>
    public void AskAfter(string by)
    {
        try
        {
            if (!CanAsk) { Tell(by, conversation.WaitForAny(conversation.HeardAll, s_answer)); }
            else { Ask(by); }
        }
        catch (RunEndedException)
        {
            // As above.
        }
    }

    /// <summary>The rig says what the device can be asked.</summary>
    public bool CanAsk => rig.Device.Identity is not null || rig.Device.Clock is not null || rig.Device.Says.Counters is not null;

    private void Reset(SendStep reset)
    {
        Step("revive");
        long before = conversation.HeardAll;
        writer.Send(format.Message(reset.Send));
        capture.Flush();
        // The banner is an answer; a device without one is asked.
        bool heard = conversation.WaitForAny(before, reset.Wait > TimeSpan.Zero ? reset.Wait : s_answer);
        if (heard || !CanAsk) { Tell(RevivalBy.Reset, heard); }
        else { Ask(RevivalBy.Reset); }
    }

    private void Ask(string by) => Tell(by, Answers(TriesAfterReset, s_answer, step: null));

    private bool Answers(int tries, TimeSpan limit, string? step)
    {
        for (int i = 0; i < tries; i++)
        {
            if (step is not null) { Step(step); }
            if (Heard(Question(), limit))
            {
                return true;
            }
        }
        return false;
    }

    private byte[] Question() => rig.Device switch
    {
        { Identity: { } identity } => format.Message(identity.Ask),
        { Clock: { } query } => format.Message(query.Ask, _token++),
        var device => format.Message(device.Says.Counters!.Ask),
    };

    private void Step(string step) => capture.Event(clock.Now, RunEventNames.Step, ("step", step));

    private bool Heard(byte[] question, TimeSpan limit)
    {
        long before = conversation.HeardAll;
        writer.Send(question);
        capture.Flush();
        return conversation.WaitForAny(before, limit);
    }

    private void Tell(string by, bool answered) =>
        capture.Event(clock.Now, RunEventNames.Revival, ("by", by), ("answered", answered ? "true" : "false"));
}
