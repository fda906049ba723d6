using System.Globalization;
using HilRunner.Testing;

namespace HilRunner.Delivery.Tests;

/// <summary>
/// What the tool says of delivery, against a device and a link that keep logs of their own (witness/). A round is a call of hil
/// for each rig description, of five runs each: the same one in every run of the tests. HIL_SEED plays another round, HIL_RIG one
/// description of it, HIL_KEEP=1 keeps the folders, HIL_LONG=1 plays 20 rounds from a seed that it draws. HIL_READ=FOLDER judges
/// anew what was kept.
/// </summary>
[TestFixture]
[Timing("compares reactions of a device that runs in real time with what the tool says of them")]
internal sealed class DeliveryTests
{
    /// <summary>
    /// Samples are 10 ms apart. A machine that lets them wait for longer than this makes reactions late, and the tool, asked on
    /// such a rig, can be right to say so.
    /// </summary>
    private const double LongestGapS = 0.05;

    /// <summary>Of the round that every run of the tests plays; the long variant draws its own.</summary>
    private const int UsualSeed = 20;

    private Round _round = null!;

    [OneTimeSetUp]
    public void Play()
    {
        string? given = Environment.GetEnvironmentVariable("HIL_SEED");
        bool isLong = Environment.GetEnvironmentVariable("HIL_LONG") == "1";
        int seed = given is not null
            ? int.Parse(given, CultureInfo.InvariantCulture) : isLong ? Random.Shared.Next(100_000) : UsualSeed;
        int rounds = isLong ? 20 : 1;
        _round = new();
        if (Environment.GetEnvironmentVariable("HIL_READ") is { } kept)
        {
            _round.Read(kept);
            rounds = 0;
        }
        for (int i = 0; i < rounds; i++) { _round.Play(seed + i, Environment.GetEnvironmentVariable("HIL_RIG")); }
        Reaction[] reactions = [.. _round.Played.SelectMany(Reaction.Of).Where(r => !r.TimedBySample)];
        TestContext.Progress.WriteLine(string.Create(CultureInfo.InvariantCulture, $"""
            HIL_SEED={seed}: {_round.Played.Count} cases, {_round.Took.TotalSeconds:0} s
            {_round.Table()}
            reactions by the clock: {reactions.Length}, outside their half-width {reactions.Count(r => r.BeyondS > 0)},
                by more than 1 ms {reactions.Count(r => r.BeyondS > 0.001)},
                by more than they were held up {reactions.Count(r => r.BeyondS > r.HeldUpS)},
                and 2 ms {reactions.Count(r => r.Outside)}; not judged {reactions.Count(r => !r.IsJudged)}
            """));
    }

    [OneTimeTearDown]
    public void End() => _round.Dispose();

    [Test]
    public void Every_case_is_played_and_scored() =>
    Assert.That(_round.Unplayed, Has.Count.Zero, string.Join('\n', _round.Unplayed));

    [Test]
    public void Delivered_means_that_the_logs_agree()
    {
        using (Assert.EnterMultipleScope())
        {
            None("samples delivered by the score, not by the logs", p => p.ToDevice == "delivered"
                && p.Truth.Felt.Count != p.Truth.Sent);
            None("decisions delivered by the score, not by the logs", p => p.FromDevice == "delivered"
                && p.Heard != p.Truth.Said);
            None("delivered with other counts than were sent, and not said to be of the number only", p =>
                p.ToDevice == "delivered" && !p.CountOnly && !p.Truth.SameCounts);
        }
    }

    [Test]
    public void No_fail_is_the_links()
    {
        using (Assert.EnterMultipleScope())
        {
            None("fail on a link that did something, where the rig describes counts of both ways", p =>
                p.Verdict == "fail" && p.Truth.LinkTouched && p.Case.Dialect.Full);
            None("fail where nothing was done to link or device, which is right when it feels everything", p =>
                p.Verdict == "fail" && p.Truth.Faults.Count == 0 && !HeldUp(p));
            None("fail on a link that did something, without a note that delivery is not shown", p =>
                p.Verdict == "fail" && p.Truth.LinkTouched && !NotShownIsNoted(p));
        }
    }

    [Test]
    public void Not_shown_stands_beside_pass_and_fail_alike() =>
        None("not shown, and no note says so", p => p.Outcome == "not shown"
            && (p.Verdict is "pass" or "fail") && !NotShownIsNoted(p));

    [Test]
    public void A_device_that_stops_does_not_pass()
    {
        using (Assert.EnterMultipleScope())
        {
            None("it stopped and passed", p => p.Truth.Died && p.Verdict == "pass");
            None("a reset brings it back: its own silence", p => Hit(p, "die")
                && p.Case.Dialect.Asked && !p.Truth.HitBefore && (p.Verdict != "fail" || p.Silences < 1));
            None("nothing brings it back: nobody's silence", p => Hit(p, "die-for-good", "cut")
                && p.Case.Dialect.Watched && p.Verdict != "inconc");
            None("deaf, but reporting", p => Hit(p, "deaf") && p.Case.Dialect.ToDevice && p.Verdict != "inconc");
        }
    }

    [Test]
    public void A_clean_run_is_called_delivered_where_the_rig_describes_it()
    {
        Played[] clean = [.. _round.Played.Where(p => p.Truth.Clean)];
        using (Assert.EnterMultipleScope())
        {
            Assert.That(clean.Count(p => !HeldUp(p)), Is.GreaterThanOrEqualTo((clean.Length + 1) / 2),
                "this machine holds clean runs up too often to tell");
            None("clean, and does not pass", p => p.Truth.Clean && !HeldUp(p) && p.Verdict != "pass");
            None("clean, and not delivered", p => p.Truth.Clean
                && (p.ToDevice == "not delivered" || p.FromDevice == "not delivered"));
            None("clean, and samples are not shown to be delivered", p => p.Truth.Clean
                && p.Case.Dialect.ToDevice && p.ToDevice != "delivered");
            None("clean, and decisions are not shown to be delivered", p => p.Truth.Clean
                && p.Case.Dialect.FromDevice && p.FromDevice != "delivered");
        }
    }

    [Test]
    public void A_boot_by_opening_is_no_reset_of_the_device()
    {
        using (Assert.EnterMultipleScope())
        {
            None("a boot that opening the port caused, as a reset", p => p.Case.Kind == "boot" && p.Resets > 0);
            None("a boot that opening the port caused, as the device's fault", p => p.Case.Kind == "boot" && p.Verdict == "fail");
        }
    }

    [Test]
    public void The_true_reaction_lies_inside_its_half_width()
    {
        Reaction[] all = [.. _round.Played.SelectMany(Reaction.Of)], outside = [.. all.Where(r => r.Outside)];
        Assert.That(all.Count(r => r.IsJudged), Is.GreaterThan(all.Length / 2), "the machine stands still too often to tell");
        Assert.That(outside, Has.Length.Zero, string.Join('\n', outside.Select(r => r.ToString())));
    }

    private static bool Hit(Played p, params string[] kinds) => p.Truth.Faults.Any(f => kinds.Contains(f.Kind));

    /// <summary>By this machine, in a run whose link and device did nothing to it.</summary>
    private static bool HeldUp(Played p) => p.Case.Speed == "real" && p.Truth.LongestGapS > LongestGapS;

    private static bool NotShownIsNoted(Played p) =>
        p.Outcome == "not shown" && p.Notes.Any(n => n.Contains("not shown", StringComparison.OrdinalIgnoreCase));

    private void None(string what, Func<Played, bool> wrong)
    {
        Played[] found = [.. _round.Played.Where(wrong)];
        Assert.That(found, Has.Length.Zero, $"{what}:\n{string.Join('\n', found.Select(p => p.ToString()))}");
    }
}
