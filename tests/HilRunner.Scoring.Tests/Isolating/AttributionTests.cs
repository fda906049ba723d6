using HilRunner.Scoring.Isolating;

namespace HilRunner.Scoring.Tests.Isolating;

/// <summary>Every combination of what plays can show, against the table of scenarios/CASES.md read line by line.</summary>
public class AttributionTests
{
    private static readonly PlayedComplaint
        Right = new(false, "conveyed", false, "conveyed"),
        WrongAlike = new(true, "carried", true, "carried"),
        WrongAlone = new(true, "carried", false, "conveyed"),
        WrongOtherwise = new(true, "carried", true, "resting"),
        Untold = new(true, "carried", null, null);

    [Test]
    public void NoPlayThatCountsIsTheRigs()
    {
        Assert.That(Attribution.Of([], 3, false), Is.EqualTo(Culprit.Rig));
        Assert.That(Attribution.Of([], 3, true), Is.EqualTo(Culprit.Rig), "whatever the motion");
        Assert.That(Attribution.Of([], 0, false), Is.EqualTo(Culprit.NotReproduced));
    }

    [TestCase(false)]
    [TestCase(true)]
    public void ADeviceThatIsRightIsNeverBlamed(bool doubt) => Assert.That(Attribution.Of([Right, Right], 5, doubt), Is.EqualTo(Culprit.NotReproduced));

    [TestCase(false, Culprit.Model)]
    [TestCase(true, Culprit.Input)]
    public void WrongAsItsModelIsTheModelsUnlessTheMotionIsWrong(bool doubt, Culprit culprit) => Assert.That(Attribution.Of([Right, WrongAlike, WrongAlike], 0, doubt), Is.EqualTo(culprit));

    [TestCase(false)]
    [TestCase(true)]
    public void OnePlayInWhichTheyDifferIsTheFirmwares(bool doubt)
    {
        Assert.That(Attribution.Of([WrongAlike, WrongAlone, Right], 0, doubt), Is.EqualTo(Culprit.Firmware));
        Assert.That(Attribution.Of([WrongAlike, WrongOtherwise], 0, doubt), Is.EqualTo(Culprit.Firmware), "wrong in another way");
    }

    [TestCase(false, Culprit.Device)]
    [TestCase(true, Culprit.Input)]
    public void WithoutAModelOnlyTheMotionCanBeTold(bool doubt, Culprit culprit) => Assert.That(Attribution.Of([Untold, Right with { HostShown = null, HostSaid = null }], 0, doubt), Is.EqualTo(culprit));
}
