package measure

import "testing"

func TestUnitsOf(t *testing.T) {
	rows := []struct {
		shows, text string
		want        Units
	}{
		{"inches", "15in", Imperial},
		{"inches in full", "15 Inches", Imperial},
		{"an inch mark", "15 1/2″", Imperial},
		{"feet and inches", "5'6\"", Imperial},
		{"yards", "4 yd", Imperial},
		{"a density by the inch", "10 epi", Imperial},
		{"centimetres", "38,5 cm", Metric},
		{"centimetres in full", "38 centimetres", Metric},
		{"American spelling", "1.2 meters", Metric},
		{"a no-break space", "38\u00a0cm", Metric},
		{"a density by 10 cm", "40/10cm", Metric},
		{"a number alone", "15", Unset},
		{"nothing", "", Unset},
		{"letters that are no unit", "cotton", Unset},
	}
	for _, row := range rows {
		if got := UnitsOf(row.text); got != row.want {
			t.Errorf("%s: %q is %d, want %d", row.shows, row.text, got, row.want)
		}
	}
}
