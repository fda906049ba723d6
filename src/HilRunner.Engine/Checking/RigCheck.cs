using HilRunner.Core.Capture;
using HilRunner.Core.Links;
using HilRunner.Core.Messages;
using HilRunner.Core.Rigs;
using HilRunner.Core.Time;
using HilRunner.Engine.Plans;
using HilRunner.Engine.Playing;

namespace HilRunner.Engine.Checking;

/// <summary>Talks to a device without playing anything: opens, waits for the banner, wakes, resets, asks identity and clock.</summary>
public static class RigCheck
{
    /// <summary>How long a device that is asked nothing is listened to.</summary>
    private static readonly TimeSpan s_listen = TimeSpan.FromSeconds(1);

    /// <summary>
    /// How long is listened after opening where the rig says nothing of it: boards that opening resets say their banner then.
    /// </summary>
    private static readonly TimeSpan s_boot = TimeSpan.FromSeconds(2);

    /// <summary>Leaves a capture of the talk at <paramref name="capturePath"/>, to be reviewed like a run's.</summary>
    /// <exception cref="LinkException">The link could not be opened.</exception>
    /// <exception cref="RunEndedException">The device did not answer, or the link was lost.</exception>
    public static RigTalk Talk(
        Rig rig, ILinkOpener links, IDeviceFormat format, ICaptureStore captures, HostClock clock, string capturePath)
    {
        using ICaptureWriter capture = captures.Create(capturePath, clock);
        using ILink link = links.Open(rig.Device.Link);
        using var conversation = new Conversation(clock, format.NewDecoder());
        conversation.Begin(capture);
        link.Start(conversation);
        var nothing = new PlayPlan
        {
            Folder = "",
            Rate = rig.Device.Input.Rate,
            SampleCount = 0,
            LeadSamples = 0,
            SamplesPerFrame = 1,
            Frames = [],
            FrameEnds = [],
        };
        var run = new PlayerRun(nothing, rig, format, link, conversation, capture, clock);
        try
        {
            var heard = run.AfterOpening() ? default : HearBoot(conversation, clock);
            run.Prepare();
            if (rig.Device.Identity is null) { conversation.Pass(s_listen); }
            bool counters = run.AskCounters();
            return new(heard, counters, LinkLoss.Measure(rig.Device, format, run.SendNow, conversation, capture, clock));
        }
        finally
        {
            link.Dispose();
            conversation.End();
        }
    }

    /// <summary>Listens as long as a board takes to start that was reset by opening its port.</summary>
    private static (TimeSpan? Banner, bool Spoke) HearBoot(Conversation conversation, HostClock clock)
    {
        HostTime opened = clock.Now;
        long before = conversation.Heard(MessageKind.Booted);
        HostTime lastByte = conversation.LastByte;
        bool banner = conversation.WaitFor(MessageKind.Booted, before, s_boot);
        return (banner ? TimeSpan.FromTicks((clock.Now - opened) / 100) : null, conversation.LastByte != lastByte);
    }
}

/// <summary>What talking to a device showed beyond its answers.</summary>
/// <param name="AfterOpening">
/// How long after opening its banner came, null: none came; whether it said anything then, unasked.
/// </param>
/// <param name="Counters">It answered the question for its counters.</param>
/// <param name="Loss">What the link loses; null: there is nothing to ask.</param>
public sealed record RigTalk((TimeSpan? Banner, bool Spoke) AfterOpening, bool Counters, LinkLoss? Loss);
