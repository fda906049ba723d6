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

    /// <summary>Leaves a capture of the talk at <paramref name="capturePath"/>, to be reviewed like a run's.</summary>
    /// <exception cref="LinkException">The link could not be opened.</exception>
    /// <exception cref="RunEndedException">The device did not answer, or the link was lost.</exception>
    public static void Talk(Rig rig, ILinkOpener links, IDeviceFormat format, ICaptureStore captures, HostClock clock, string capturePath)
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
            run.AfterOpening();
            run.Prepare();
            if (rig.Device.Identity is null) { conversation.Pass(s_listen); }
        }
        finally
        {
            link.Dispose();
            conversation.End();
        }
    }
}
