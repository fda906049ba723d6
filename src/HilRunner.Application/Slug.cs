using System.Text;

namespace HilRunner.Application;

/// <summary>A name that is safe in every file system: lower-case letters, digits and single dashes, at most 48 long.</summary>
internal static class Slug
{
    public static string Of(string name)
    {
        var slug = new StringBuilder();
        foreach (char c in name.ToLowerInvariant())
        {
            if (char.IsAsciiLetterOrDigit(c)) { slug.Append(c); }
            else if (slug.Length > 0 && slug[^1] != '-') { slug.Append('-'); }
            if (slug.Length == 48) { break; }
        }
        string trimmed = slug.ToString().Trim('-');
        return trimmed.Length == 0 ? "run" : trimmed;
    }
}
