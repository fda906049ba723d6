using HilRunner.Core.Capture;
using HilRunner.Core.Messages;
using HilRunner.Core.Rigs;
using HilRunner.Core.Statistics;
using HilRunner.Core.Time;
using HilRunner.Engine.Playing;
using HilRunner.Engine.Reviewing;

namespace HilRunner.Engine.Checking;

/// <summary>How many of many questions came back: what the link loses there and back together.</summary>
/// <param name="Asked">Questions.</param>
/// <param name="Answered">Answers.</param>
/// <param name="What">What was asked: clock, identity or counters.</param>
public sealed record LinkLoss(int Asked, int Answered, string What)
{
    /// <summary>As many show, where none is lost, that at most 0.3 % are, at 95 %.</summary>
    public const int Questions = 1_000;

    private static readonly TimeSpan s_answer = TimeSpan.FromMilliseconds(200);
    private static readonly TimeSpan s_longest = TimeSpan.FromSeconds(5);

    public int Lost => Asked - Answered;

    /// <summary>Exact one-sided upper bound, at 95 %, of the share that is lost (Clopper and Pearson 1934).</summary>
    public double AtMost => BinomialBounds.Upper(Lost, Asked, QuestionLog.Confidence)!.Value;

    /// <summary>The exact one-sided lower bound, likewise.</summary>
    public double AtLeast => BinomialBounds.Lower(Lost, Asked, QuestionLog.Confidence)!.Value;

    /// <summary>Asks one question after another, at most five seconds long. Null: there is nothing to ask.</summary>
    /// <exception cref="RunEndedException">The link was lost, or stopped.</exception>
    internal static LinkLoss? Measure(
        DeviceDescription device, IDeviceFormat format, Action<byte[]> send,
        Conversation conversation, ICaptureWriter capture, HostClock clock)
    {
        var kind = device.Clock is not null ? MessageKind.Clock : device.Identity is not null ? MessageKind.Identity
            : MessageKind.Counters;
        if (kind == MessageKind.Counters && device.Says.Counters is null) { return null; }
        HostTime until = clock.Now + s_longest;
        int asked = 0, answered = 0;
        // Tokens fit a byte, so that any device can say them; only one question is on its way at a time.
        for (; asked < Questions && clock.Now < until; asked++)
        {
            long before = conversation.Heard(kind);
            send(kind switch
            {
                MessageKind.Clock => format.Message(device.Clock!.Ask, (ulong)(asked % 200)),
                MessageKind.Identity => format.Message(device.Identity!.Ask),
                _ => format.Message(device.Says.Counters!.Ask),
            });
            if (conversation.WaitFor(kind, before, s_answer)) { answered++; }
        }
        capture.Flush();
        return asked == 0 ? null : new(asked, answered, kind.ToString().ToLowerInvariant());
    }
}
