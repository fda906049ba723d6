using HilRunner.Core.Documents;

namespace HilRunner.Core.Tests.Documents;

internal sealed class EditDistanceTests
{
    /// <summary>Known pairs: kitten/sitting 3 (the textbook example of Levenshtein's distance), ca/abc 3 (optimal string alignment).</summary>
    [TestCase("kitten", "sitting", 3)]
    [TestCase("ca", "abc", 3)]
    [TestCase("abcd", "acbd", 1)]
    [TestCase("", "abc", 3)]
    [TestCase("same", "same", 0)]
    public void The_distance_is_the_published_one(string a, string b, int distance) => Assert.That(EditDistance.Between(a, b), Is.EqualTo(distance));

    [TestCase("stale_afer", "stale_after")]
    [TestCase("xyz", null)]
    public void The_nearest_word_is_found_when_it_is_near(string word, string? nearest) =>
        Assert.That(EditDistance.Nearest(word, ["framing", "stale_after", "says"]), Is.EqualTo(nearest));
}
