using static HilRunner.Scoring.Tests.Inputs;

namespace HilRunner.Scoring.Tests.Agreements;

/// <summary>Agreement figures of matrices with known values.</summary>
[TestFixture]
internal sealed class PublishedAgreementTests
{
    /// <summary>Values computed with scikit-learn 1.2.1, to five places.</summary>
    [Test]
    public void ThreeByThree()
    {
        var a = One(FromMatrix(["a", "b", "c"], [[50, 3, 2], [10, 30, 5], [0, 5, 15]])).Strict;
        Assert.That(a.PerClass.Values.Select(c => c.Precision!.Value), Is.EqualTo(new[] { .83333, .78947, .68182 }).Within(5e-6));
        Assert.That(a.PerClass.Values.Select(c => c.Recall!.Value), Is.EqualTo(new[] { .90909, .66667, .75 }).Within(5e-6));
        Assert.That(a.PerClass.Values.Select(c => c.F1!.Value), Is.EqualTo(new[] { .86957, .72289, .71429 }).Within(5e-6));
        Assert.That(a.Accuracy, Is.EqualTo(.79167).Within(5e-6));
        Assert.That(a.BalancedAccuracy, Is.EqualTo(.77525).Within(5e-6));
        Assert.That(a.Kappa, Is.EqualTo(.66480).Within(5e-6));
        Assert.That(a.Mcc, Is.EqualTo(.66772).Within(5e-6));
    }

    /// <summary>Cohen, Educ. Psychol. Meas. 20:37–46, 1960 (cells from memory): observed .70, by chance .41, kappa .29/.59.</summary>
    [Test]
    public void CohensKappa()
    {
        var a = One(FromMatrix(["a", "b", "c"], [[88, 10, 2], [14, 40, 6], [18, 10, 12]])).Strict;
        Assert.That(a.Accuracy, Is.EqualTo(.70));
        Assert.That(a.Kappa, Is.EqualTo(.29 / .59).Within(1e-15));
    }

    /// <summary>Chicco and Jurman, BMC Genomics 21:6, 2020.</summary>
    [Test]
    public void MatthewsOfTwoClasses()
    {
        var a = One(FromMatrix(["yes", "no"], [[90, 5], [4, 1]])).Strict;
        Assert.That(a.Accuracy, Is.EqualTo(.91));
        Assert.That(a.PerClass["yes"].F1, Is.EqualTo(.95238).Within(5e-6));
        Assert.That(a.Mcc, Is.EqualTo(.13524).Within(5e-6));

        var oneColumn = One(FromMatrix(["yes", "no"], [[95, 0], [5, 0]])).Strict;
        Assert.That(oneColumn.Accuracy, Is.EqualTo(.95));
        Assert.That(oneColumn.PerClass["yes"].F1, Is.EqualTo(.97436).Within(5e-6));
        Assert.That(oneColumn.Mcc, Is.Null, "undefined, not 0");
        Assert.That(oneColumn.PerClass["no"].Precision, Is.Null, "its column is empty");
        Assert.That(oneColumn.PerClass["no"].F1, Is.EqualTo(0), "its row is not");
    }

    [Test]
    public void OneClassOnBothSidesLeavesChanceCorrectedFiguresUndefined()
    {
        var a = One(Input(10, [Ref(0, 10, "resting")], [Says(0, "resting")])).Strict;
        Assert.That((a.Accuracy, a.BalancedAccuracy, a.Kappa, a.Mcc), Is.EqualTo(((double?)1, (double?)1, (double?)null, (double?)null)));
    }

    [Test]
    public void NothingScoredLeavesAllUndefined()
    {
        var a = One(Input(10, [Ref(0, 10, "unscored")], [Says(0, "resting")])).Strict;
        Assert.That((a.Accuracy, a.BalancedAccuracy, a.Kappa, a.Mcc), Is.EqualTo(((double?)null, (double?)null, (double?)null, (double?)null)));
        Assert.That(a.ConfusionNs, Is.Empty);
    }

    [Test]
    public void FiguresOfDaysAreExact()
    {
        // 100 days in nanoseconds squared need 106 bits.
        long day = Ns(86_400);
        var a = One(Input(100 * 86_400, [Ref(0, 50 * 86_400, "a"), Ref(50 * 86_400, 100 * 86_400, "b")],
            [Says(0, "a"), Says(60 * 86_400, "b")])).Strict;
        Assert.That(a.ConfusionNs["b"]["a"], Is.EqualTo(10 * day));
        Assert.That(a.Kappa, Is.EqualTo(.8).Within(1e-15));
    }
}
