using HilRunner.Core.Capture;
using HilRunner.Core.Messages;
using HilRunner.Core.Rigs;
using HilRunner.Core.Time;

namespace HilRunner.Engine.Playing;

/// <summary>
/// Asks a silent device again, on the link that was open all the time: as it is, and after its reset message. An answer after a reset alone
/// shows that the link was there and the silence was the device's.
/// </summary>
internal sealed class Revival(Rig rig, IDeviceFormat format, DeviceWriter writer, Conversation conversation, ICaptureWriter capture, HostClock clock)
{
    private const int Tries = 3;
    private static readonly TimeSpan s_answer = TimeSpan.FromSeconds(1);
    private ulong _token = 1_000;

    /// <summary>Never throws for what happens on the link: the run has ended already.</summary>
    public void Try()
    {
        try
        {
            if (CanAsk && Ask(RevivalBy.Waiting)) { return; }
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

    private bool CanAsk => rig.Device.Identity is not null || rig.Device.Clock is not null;

    private void Reset(SendStep reset)
    {
        long before = conversation.HeardAll;
        writer.Send(format.Message(reset.Send));
        capture.Flush();
        // The banner is an answer; a device without one is asked.
        bool heard = conversation.WaitForAny(before, reset.Wait > TimeSpan.Zero ? reset.Wait : s_answer);
        if (heard || !CanAsk) { Tell(RevivalBy.Reset, heard); }
        else { Ask(RevivalBy.Reset); }
    }

    private bool Ask(string by)
    {
        for (int i = 0; i < Tries; i++)
        {
            long before = conversation.HeardAll;
            writer.Send(rig.Device.Identity is { } identity ? format.Message(identity.Ask) : format.Message(rig.Device.Clock!.Ask, _token++));
            capture.Flush();
            if (!conversation.WaitForAny(before, s_answer)) { continue; }
            Tell(by, answered: true);
            return true;
        }
        Tell(by, answered: false);
        return false;
    }

    private void Tell(string by, bool answered) =>
        capture.Event(clock.Now, RunEventNames.Revival, ("by", by), ("answered", answered ? "true" : "false"));
}
