using NUnit.Framework.Interfaces;
using NUnit.Framework.Internal;

namespace HilRunner.Testing;

/// <summary>
/// The fixture measures time, or needs the machine to itself: it is in the timing lane, where one fixture runs after another and
/// nothing else runs. Every fixture without it is in the calm lane, beside others and on a busy machine. ci/test runs the lanes
/// one after the other.
/// </summary>
/// <param name="reason">What it measures, or what would disturb it, in words.</param>
[AttributeUsage(AttributeTargets.Class)]
internal sealed class TimingAttribute(string reason) : NUnitAttribute, IApplyToTest
{
    /// <summary>The category by which ci/test tells the lanes apart.</summary>
    public const string Lane = "timing";

    public string Reason { get; } = reason;

    public void ApplyToTest(Test test)
    {
        test.Properties.Add(PropertyNames.Category, Lane);
        test.Properties.Set(PropertyNames.ParallelScope, ParallelScope.None);
    }
}
